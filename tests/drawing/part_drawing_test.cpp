// Where views lie, what a sheet says, and the template's scale.
#include "drawing/part_drawing.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "base/error.h"
#include "checks/keyed_parts.h"
#include "drawing/hidden_lines.h"
#include "drawing/template_sheets.h"
#include "drawing/told.h"
#include "kit/corpus.h"
#include "kit/read_kit.h"
#include "output/drawings.h"
#include "output/make_set.h"

using namespace bedwright;

namespace {

struct Bench {
  Kit kit;
  Layout layout;
  std::vector<MadePart> made;
};

Bench bench(const std::vector<Setting>& settings = {}, const char* kit = "params/kits/north-bench.json") {
  Bench b;
  b.kit = read_kit_file(root_path(kit), settings);
  b.layout = settle(b.kit);
  for (const Part& part : keyed_parts(b.kit, b.layout)) b.made.push_back(make_part(b.kit, b.layout, part));
  for (std::size_t i = 0; i < b.made.size(); ++i) compare_made(b.made, i);
  return b;
}

Page page_of(const MadePart& made, bool third, TitleBlock title = {}) {
  title.part = made.report.part.id;
  title.third_angle = third;
  return part_drawing({&made.report.part, &made.solid, &made.report.dimensions}, title, sheet_a4);
}

Vec2 place_of(const Page& page, const std::string& text) {
  for (const Words& w : page.words)
    if (w.text == text) return w.at;
  FAIL(text << " is not on the sheet");
  return {};
}

bool says(const Page& page, const std::string& text) {
  return std::any_of(page.words.begin(), page.words.end(), [&](const Words& w) { return w.text == text; });
}

}  // namespace

TEST_CASE("drawings: in first angle the view from above lies below the front view, in third angle above it",
          "[drawing]") {
  const Bench b = bench();
  const Page first = page_of(b.made[0], false), third = page_of(b.made[0], true);
  CHECK(place_of(first, "from above, rear is up").y < place_of(first, "from the front").y);
  CHECK(place_of(third, "from above, rear is up").y > place_of(third, "from the front").y);
  // At the right stands what is seen from the left in first angle, from the right in third.
  CHECK(place_of(first, "from the left").x > place_of(first, "from the front").x);
  CHECK(place_of(third, "from the right").x > place_of(third, "from the front").x);
  CHECK(says(first, "First angle (ISO 5456-2)"));
  CHECK(says(third, "Third angle (ISO 5456-2)"));
}

TEST_CASE("drawings: a plate's sheet says its holes, its dome, its levels and its tolerance", "[drawing]") {
  const Bench b = bench();
  TitleBlock title;
  title.kit = "north-bench", title.general = "m";
  const Page page = page_of(b.made[0], false, title);
  for (const char* text :
       {"4 \u00d7 slot 3.40 \u00d7 4.40 THRU", "counterbore 6.50 \u00d7 7.50 to Z 3.15", "\u23004.50 THRU",
        "insert pocket \u23005.60, 5.70 deep from below", "boss \u230010.00, 4.00 high", "seat SR2600",
        "apex at X 75.00, Y 45.00", "least height Z 6.00", "46.00", "55.66", "-30", "-4", "3.15", "A\u2013A",
        "ISO 2768-m", "do not scale the drawing", "north-bench", "mm, degrees", "1:1"}) {
    CAPTURE(text);
    CHECK(says(page, text));
  }
}

TEST_CASE("drawings: sizes are nominal, whatever the printer is compensated for", "[drawing]") {
  const Bench b = bench(
      {parse_setting("/printer/compensation/hole_mm=0.2"), parse_setting("/printer/compensation/outline_mm=-0.1")});
  const Page page = page_of(b.made[0], false);
  CHECK(says(page, "4 \u00d7 slot 3.40 \u00d7 4.40 THRU"));
  CHECK(says(page, "46.00"));
  CHECK(says(page, "3 \u00d7 R5.00"));
}

TEST_CASE("drawings: every hole of every kit is in one group, and the groups' numbers add up", "[drawing]") {
  for (const std::string& file : kit_files("params/kits")) {
    const Kit kit = read_kit_file(file);
    for (const Part& part : keyed_parts(kit, settle(kit))) {
      std::size_t axes = 0;
      for (const HoleGroup& g : hole_groups(part)) {
        axes += g.places.size();
        const bool counted =
            g.lines.front().compare(0, std::to_string(g.places.size()).size(), std::to_string(g.places.size())) == 0;
        CHECK((g.places.size() == 1 || counted));
      }
      std::size_t cut = 0;
      for (const Feature& f : part.features)
        cut += f.kind == FeatureKind::clearance_hole || f.kind == FeatureKind::slot;
      CAPTURE(file, part.id);
      CHECK(axes >= cut);
    }
  }
}

TEST_CASE("drawings: centre marks lie on the holes, to scale", "[drawing]") {
  const Bench b = bench();
  const Page page = page_of(b.made[0], false);
  // At 1:1 the four carriage holes' upright axes are 20 mm apart in the view from above; the crosses meet the hole
  // axes.
  std::vector<double> levels;
  for (const Stroke& s : page.strokes)
    if ((s.pen == Pen::thin || s.pen == Pen::centre) && s.points.size() == 2 && s.points[0].x == s.points[1].x &&
        std::fabs(s.points[1].y - s.points[0].y - (6.5 + 5)) < 1e-6)
      levels.push_back(s.points[0].x);
  std::sort(levels.begin(), levels.end());
  REQUIRE(levels.size() == 4);
  CHECK(levels[2] - levels[0] == Approx(20));
}

TEST_CASE("drawings: a set names its drawings and its picture, and they are the same bytes each time", "[drawing]") {
  const Bench b = bench();
  const Report report = assemble(b.kit, b.layout, b.made, {});
  const auto files = drawing_files(report, b.made), again = drawing_files(report, b.made);
  CHECK(files == again);
  CHECK(files.size() == b.made.size() + 1);
  for (const auto& [name, bytes] : files) {
    CAPTURE(name);
    CHECK(std::count(report.files.begin(), report.files.end(), name) == 1);
    CHECK_FALSE(bytes.empty());
  }
  CHECK(files.count("drawings/adapter-a.svg") == 1);
  CHECK(files.count("drawings.pdf") == 1);
  const std::string picture = preview_file(b.kit, report, b.made);
  CHECK(picture == preview_file(b.kit, report, b.made));
  CHECK(std::count(report.files.begin(), report.files.end(), preview_name) == 1);
}

TEST_CASE("template: bars are exactly 100 mm in both directions on every sheet, in SVG and in PDF points",
          "[drawing]") {
  for (const char* name : {"north-bench", "every-option"}) {
    const Kit kit = read_kit_file(root_path(std::string("params/kits/") + name + ".json"));
    const Layout layout = settle(kit);
    for (const bool below : {false, true}) {
      const TemplateSheets sheets = template_sheets(kit, layout, below);
      std::vector<Page> pages = sheets.tiles;
      pages.push_back(sheets.whole);
      for (const Page& page : pages) {
        bool level = false, upright = false;
        for (const Stroke& s : page.strokes) {
          if (s.pen != Pen::visible || s.points.size() != 2 || s.closed) continue;
          const Vec2 d = s.points[1] - s.points[0];
          level = level || (d.y == 0 && std::fabs(d.x - 100) < 1e-12);
          upright = upright || (d.x == 0 && std::fabs(d.y - 100) < 1e-12);
        }
        CHECK(level);
        CHECK(upright);
      }
      for (const Page& page : sheets.tiles) {
        CHECK(std::min(page.width_mm, page.height_mm) == 210);
        CHECK(std::max(page.width_mm, page.height_mm) == 297);
      }
    }
  }
  // A point is 1/72 inch of 25.4 mm (ISO 32000-1, 8.3.2.3).
  CHECK(100 * points_per_mm == Approx(283.46456692913387));
}

TEST_CASE("template: holes are as far apart on paper as in the frame, and mirrored from below", "[drawing]") {
  const Kit kit = read_kit_file(root_path("params/kits/north-bench.json"));
  const Layout layout = settle(kit);
  for (const bool below : {false, true}) {
    const Page page = template_sheets(kit, layout, below).whole;
    std::vector<Vec2> centres;
    for (const Stroke& s : page.strokes) {
      if (s.pen != Pen::visible || !s.closed || s.points.size() != 128) continue;
      Vec2 sum{};
      for (const Vec2 p : s.points) sum = sum + p;
      centres.push_back((1.0 / 128) * sum);
    }
    REQUIRE(centres.size() == 4);
    // front-left, front-right, rear-left, rear-right
    CHECK(centres[1].x - centres[0].x == Approx(below ? -196 : 196));
    CHECK(centres[2].y - centres[0].y == Approx(150));
    CHECK(std::any_of(page.words.begin(), page.words.end(),
                      [&](const Words& w) { return w.text == (below ? "SEEN FROM BELOW" : "SEEN FROM ABOVE"); }));
  }
}

TEST_CASE("template: what lies on two sheets lies at the same place of the machine on both", "[drawing]") {
  const Kit kit = read_kit_file(root_path("params/kits/every-option.json"));
  const TemplateSheets sheets = template_sheets(kit, settle(kit), false);
  REQUIRE(sheets.tiles.size() > 1);
  // Ringed crosses of neighbouring sheets are one overlap apart from the edges they share.
  const Page &a = sheets.tiles[0], &b = sheets.tiles[1];
  REQUIRE_FALSE(a.rings.empty());
  REQUIRE_FALSE(b.rings.empty());
  const auto rightmost = std::max_element(a.rings.begin(), a.rings.end(),
                                          [](const Ring& l, const Ring& r) { return l.centre.x < r.centre.x; });
  const auto leftmost = std::min_element(b.rings.begin(), b.rings.end(),
                                         [](const Ring& l, const Ring& r) { return l.centre.x < r.centre.x; });
  const double frame_right = a.width_mm - 8, frame_left = 8 + 13;
  CHECK(frame_right - rightmost->centre.x == Approx(template_overlap_mm / 2));
  CHECK(leftmost->centre.x - frame_left == Approx(template_overlap_mm / 2));
}

TEST_CASE("drawings: a date that is no day of the calendar is refused, a good one stands in the title block",
          "[drawing]") {
  CHECK_THROWS_AS(
      read_kit_file(root_path("params/kits/north-bench.json"), {parse_setting("/drawing={\"on\": \"2026-02-30\"}")}),
      BadInput);
  const Kit kit =
      read_kit_file(root_path("params/kits/north-bench.json"), {parse_setting("/drawing={\"on\": \"2026-03-28\"}")});
  CHECK(kit.drawing.on == "2026-03-28");
  CHECK_FALSE(kit.drawing.third_angle);
  CHECK_FALSE(kit.drawing.a3);
}

TEST_CASE("drawings: a part that A4 would show smaller than 1:2 comes on A3, the others stay on A4", "[drawing]") {
  const Bench b = bench({}, "params/kits/light-bench.json");
  int large = 0;
  for (const MadePart& made : b.made) {
    const Page page = page_of(made, false);
    CAPTURE(made.report.part.id);
    const bool a3 = page.width_mm == sheet_a3.width_mm;
    large += a3;
    CHECK(says(page, a3 ? "A3" : "A4"));
    CHECK_FALSE(says(page, "1:5"));
    if (a3) CHECK(says(page, "1:2"));
    // The deck is 240 mm square: at 1:2 two views side by side and the title block do not go on 180 mm of width.
    CHECK(a3 == (made.report.part.id == "deck"));
  }
  CHECK(large == 1);
}
