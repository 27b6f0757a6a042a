// On every sheet of every demo kit: no text on another, no line through a text, nothing off the paper.
#include <catch2/catch.hpp>

#include "checks/keyed_parts.h"
#include "drawing/part_drawing.h"
#include "kit/corpus.h"
#include "kit/read_kit.h"
#include "output/make_set.h"

using namespace bedwright;

namespace {

std::string told(const PaperBox& b) {
  return std::to_string(b.low.x) + " " + std::to_string(b.low.y) + " to " + std::to_string(b.high.x) + " " +
         std::to_string(b.high.y);
}

/// Every fault of a sheet's texts, in words.
std::vector<std::string> text_faults(const Page& page) {
  std::vector<std::string> faults;
  for (std::size_t i = 0; i < page.words.size(); ++i) {
    const PaperBox box = box_of(page.words[i]);
    const std::string& text = page.words[i].text;
    if (box.low.x < 0 || box.low.y < 0 || box.high.x > page.width_mm || box.high.y > page.height_mm)
      faults.push_back("off the paper: " + text);
    for (std::size_t k = 0; k < i; ++k)
      if (overlap(box, box_of(page.words[k])))
        faults.push_back(text + " lies on " + page.words[k].text + " at " + told(box));
    for (const Stroke& s : page.strokes) {
      bool through = false;
      for (std::size_t k = 0; k + 1 < s.points.size(); ++k)
        through = through || runs_through(s.points[k], s.points[k + 1], box);
      if (s.closed) through = through || runs_through(s.points.back(), s.points.front(), box);
      if (through)
        faults.push_back(std::string("a ") + pen_style(s.pen).name + " line runs through " + text + " at " + told(box));
    }
    for (const Ring& r : page.rings) {
      const Vec2 near{std::min(std::max(r.centre.x, box.low.x), box.high.x),
                      std::min(std::max(r.centre.y, box.low.y), box.high.y)};
      if (length(near - r.centre) < r.radius) faults.push_back("a circle runs through " + text);
    }
  }
  return faults;
}

}  // namespace

TEST_CASE("drawings: no text overlaps another and no line runs through one, in every part of every kit", "[drawing]") {
  for (const std::string& file : kit_files("params/kits")) {
    const Kit kit = read_kit_file(file);
    const Layout layout = settle(kit);
    std::vector<MadePart> made;
    for (const Part& part : keyed_parts(kit, layout)) made.push_back(make_part(kit, layout, part));
    for (std::size_t i = 0; i < made.size(); ++i) {
      compare_made(made, i);
      for (const bool third : {false, true})
        for (const SheetSize& size : {sheet_a4, sheet_a3}) {
          TitleBlock title;
          title.kit = kit.name, title.revision = kit.revision, title.title = kit.title, title.general = "m";
          title.part = made[i].report.part.id, title.third_angle = third;
          const Page page =
              part_drawing({&made[i].report.part, &made[i].solid, &made[i].report.dimensions}, title, size);
          CAPTURE(file, title.part, third, size.name);
          CHECK(text_faults(page) == std::vector<std::string>{});
        }
    }
  }
}

TEST_CASE("drawings: the test of texts finds a text on another, a line through one and one off the paper",
          "[drawing]") {
  Page page;
  page.write({100, 100}, "first");
  page.write({104, 101}, "second");
  CHECK(text_faults(page).size() == 1);
  page.line(Pen::thin, {90, 98}, {130, 104});
  CHECK(text_faults(page).size() == 3);
  page.write({205, 50}, "too far right");
  CHECK(text_faults(page).size() == 4);
  page.words.clear();
  CHECK(text_faults(page).empty());
}
