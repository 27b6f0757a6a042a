// Marks: true at every placement, readable, clear of everything, and left out rather than squeezed in.
#include "parts/marks.h"

#include <catch2/catch.hpp>

#include "parts/grouping.h"
#include "parts/lettering.h"
#include "parts/support.h"

using namespace parts_test;

namespace {

/// The direction of an arrow, found from its shape alone: nine corners, alike on both sides of the one that is the tip,
/// and opposite to it the shaft's end. Zero for any other loop.
Vec2 arrow_direction(const Loop& loop) {
  if (loop.circle || loop.curves.size() != 9) return {0, 0};
  std::vector<Vec2> corners;
  for (const Curve& c : loop.curves) corners.push_back(c.start);
  // An arrow is symmetric about its axis through the tip: look for that corner.
  for (std::size_t tip = 0; tip < 9; ++tip) {
    bool symmetric = true;
    for (std::size_t k = 1; k <= 4; ++k)
      symmetric = symmetric && std::fabs(length(corners[(tip + k) % 9] - corners[tip]) -
                                         length(corners[(tip + 9 - k) % 9] - corners[tip])) < 1e-6;
    if (!symmetric) continue;
    const Vec2 d = corners[tip] - 0.5 * (corners[(tip + 4) % 9] + corners[(tip + 5) % 9]);
    return (1 / length(d)) * d;
  }
  return {0, 0};
}

/// Of the first arrow of a part's marks; zero if it has none.
Vec2 arrow_direction(const Part& part) {
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::mark)
      for (const Loop& loop : f.profile)
        if (const Vec2 d = arrow_direction(loop); length(d) > 0) return d;
  return {0, 0};
}

/// The mark's loops line by line, without the arrow.
std::vector<std::vector<Loop>> letters_of(const Part& part) {
  std::vector<std::vector<Loop>> lines;
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::mark) continue;
    lines.emplace_back();
    for (const Loop& loop : f.profile)
      if (length(arrow_direction(loop)) == 0) lines.back().push_back(loop);
  }
  return lines;
}

/// What is cut of "ADAPTER-A A UP, arrow to the machine's centre (C)": "ADAPTER-AAUPC".
std::string letters_in(const std::string& mark_text) {
  const std::size_t arrow = mark_text.find(", arrow");
  std::string text;
  for (char c : mark_text.substr(0, arrow))
    if (c != ' ') text += c;
  return arrow == std::string::npos ? text : text + mark_text.at(mark_text.find('(') + 1);
}

/// Equal but for a shift, wherever on the loop the walk begins.
bool same_but_shifted(const Loop& a, const Loop& b) {
  const std::size_t n = a.curves.size();
  if (n != b.curves.size()) return false;
  for (std::size_t first = 0; first < n; ++first) {
    bool same = true;
    for (std::size_t k = 0; k < n && same; ++k) {
      const Curve &c = a.curves[k], &d = b.curves[(k + first) % n];
      same = length((c.end - c.start) - (d.end - d.start)) < 1e-9;
    }
    if (same) return true;
  }
  return false;
}

/// Whether the lines are that text's letters, one size, turned by quarters as a whole, each to the right of the last
/// and each line below the last.
bool reads(const std::vector<std::vector<Loop>>& lines, const std::string& text) {
  std::vector<Loop> cut;
  for (const auto& line : lines) cut.insert(cut.end(), line.begin(), line.end());
  const std::vector<Loop> unit = letter_loops(text, 1);
  if (cut.empty() || cut.size() != unit.size()) return false;
  const std::vector<Loop> drawn = letter_loops(text, std::sqrt(area(cut.front()) / area(unit.front())));
  for (int quarter = 0; quarter < 4; ++quarter) {
    const Transform back = quarter_turn(2, 4 - quarter);
    bool same = true;
    for (std::size_t i = 0; i < cut.size() && same; ++i) same = same_but_shifted(transformed(cut[i], back), drawn[i]);
    double above = 1e9;
    for (const auto& line : lines) {
      double left = -1e9, lowest = above;
      for (const Loop& loop : line) {
        const PlaneBox box = bounding_box(transformed(loop, back));
        same = same && box.low.x >= left - 1e-9 && box.high.y <= above + 1e-9;
        left = box.low.x;
        lowest = std::min(lowest, box.low.y);
      }
      above = lowest;
    }
    if (same) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("marks: the engraved arrow is true at every placement the part serves") {
  const std::vector<std::vector<Setting>> machines = {
      {}, {{"/frame/dome/apex_mm", "[12, 7]"}}, {{"/parts/0/boss_side", "up"}}, {{"/parts/0/seat", "pads"}}};
  for (const auto& settings : machines) {
    const Kit kit = demo_kit("north-bench", settings);
    const Layout layout = settle(kit);
    for (const Part& part : of_family(derive_parts(kit, layout), "adapter_plate")) {
      CAPTURE(part.id, part.mark_text);
      REQUIRE(part.visible_mark);
      const Vec2 d = arrow_direction(part);
      REQUIRE(length(d) == Approx(1));
      const bool to_front = part.mark_text.find("(F)") != std::string::npos;
      CHECK(to_front == (part.placements.size() == 1));
      for (std::size_t i = 0; i < part.placements.size(); ++i) {
        const Vec2 from = in_machine(layout, part, i, {0, 0}), to = in_machine(layout, part, i, d);
        const Vec2 points = to - from;
        // As someone in front of the machine sees it: -Y is the front, (0, 0) the centre.
        const Vec2 wanted = to_front ? Vec2{0, -1} : (-1 / length(from)) * from;
        CHECK(dot(points, wanted) > 0.99985);
      }
    }
  }
}

TEST_CASE("marks: an arrow to the front is refused for a part used at two turned corners") {
  const Kit kit = demo_kit("north-bench");
  const Layout layout = settle(kit);
  const std::vector<Part> parts = of_family(derive_parts(kit, layout), "adapter_plate");
  REQUIRE(parts[0].quarter_turns == std::vector<int>{0, 2});
  CHECK_FALSE(arrow_holds(layout, parts[0], {0, -1}, false));
  Part unturned = parts[0];
  unturned.quarter_turns = {0, 0};
  CHECK(arrow_holds(layout, unturned, {0, -1}, false));
  CHECK_FALSE(arrow_holds(layout, unturned, {0.857, 0.5145}, true));
}

TEST_CASE("marks: one flat plate for all four corners gets an arrow that its turns keep true") {
  const Kit kit = demo_kit("north-bench",
                           {{"/frame/dome", R"({"shape": "flat"})"}, {"/frame/hole_pattern/pitch_mm", "[150, 150]"}});
  const Layout layout = settle(kit);
  const std::vector<Part> parts = of_family(derive_parts(kit, layout), "adapter_plate");
  REQUIRE(parts.size() == 1);
  REQUIRE(parts[0].placements.size() == 4);
  // Mirrored corners are served without a mirror: neither front nor centre can be pointed at from all four.
  CHECK(parts[0].visible_mark);
  CHECK(length(arrow_direction(parts[0])) == 0);
  CHECK(states(parts[0], "the mark has no arrow"));
}

TEST_CASE("marks: letters stay inside the outline and clear of every feature beside them") {
  for (const char* kit_name : {"north-bench", "tall-bench", "south-bench", "flat-bench", "every-option"})
    for (const Part& part : parts_of(demo_kit(kit_name))) {
      CAPTURE(kit_name, part.id);
      double floor = 1e9;
      for (const Feature& mark : part.features) {
        if (mark.kind != FeatureKind::mark) continue;
        if (floor > 1e8) floor = mark.from.z_mm;
        CHECK(mark.from.z_mm == floor);
        for (const Loop& loop : mark.profile)
          for (const Curve& c : loop.curves) {
            CHECK(contains(part.features.front().profile.front(), c.start));
            CHECK(distance(part.features.front().profile.front(), c.start) >= 1.2);
            for (const Feature& f : part.features) {
              if (f.kind == FeatureKind::mark || f.kind == FeatureKind::outline || f.effect == Effect::none) continue;
              if (f.to.kind == Bound::Kind::flat && f.to.z_mm < floor - 0.8) continue;
              for (const Loop& other : f.profile) {
                CHECK_FALSE(contains(other, c.start));
                CHECK(distance(other, c.start) >= 0.8);
              }
            }
          }
      }
    }
}

TEST_CASE("marks: every mark is the text it claims, right way round, on both hands and all families") {
  int hands = 0, read = 0;
  for (const char* kit_name : {"north-bench", "tall-bench", "south-bench", "flat-bench", "every-option"})
    for (const Part& part : parts_of(demo_kit(kit_name))) {
      if (!part.visible_mark) continue;
      CAPTURE(kit_name, part.id, part.mark_text);
      ++read;
      hands += part.hand != Hand::none;
      const std::vector<std::vector<Loop>> lines = letters_of(part);
      CHECK(reads(lines, letters_in(part.mark_text)));
      // The mistakes: the mark as a careless mirror of the part would leave it, and another part's text.
      std::vector<std::vector<Loop>> mirrored = lines;
      for (auto& line : mirrored)
        for (Loop& loop : line) loop = transformed(loop, mirror_x());
      CHECK_FALSE(reads(mirrored, letters_in(part.mark_text)));
      CHECK_FALSE(reads(lines, letters_in(part.mark_text) + "X"));
    }
  CHECK(hands >= 2);
  CHECK(read >= 12);
}

TEST_CASE("marks: a part too small for letters says so and carries none") {
  const std::vector<Part> p = parts_of(
      kit_with_part(R"({"id": "riser", "family": "spacer", "thickness_mm": 8, "outer_mm": 14, "hole_mm": 4.5})"));
  REQUIRE(p.size() == 1);
  CHECK_FALSE(p[0].visible_mark);
  CHECK(count_of(p[0], FeatureKind::mark) == 0);
  CHECK(states(p[0], "no room for the mark"));
  // A larger one carries it, at a floor 0.6 below the top.
  const std::vector<Part> large = parts_of(
      kit_with_part(R"({"id": "riser", "family": "spacer", "thickness_mm": 8, "outer_mm": 60, "hole_mm": 4.5})"));
  REQUIRE(large[0].visible_mark);
  CHECK(large[0].mark_text == "RISER A");
  for (const Feature& f : large[0].features)
    if (f.kind == FeatureKind::mark) CHECK(f.from.z_mm == Approx(7.4));
}

TEST_CASE("marks: no mark is cut where none is wanted") {
  for (const Part& p : parts_of(demo_kit("north-bench", {{"/parts/0/mark", "false"}})))
    if (p.family == "adapter_plate") CHECK(count_of(p, FeatureKind::mark) == 0);
}

TEST_CASE("marks: an id breaks after its hyphens and is written in capitals") {
  CHECK(words_of_id("adapter-a") == std::vector<std::string>{"ADAPTER-", "A"});
  CHECK(words_of_id("x") == std::vector<std::string>{"X"});
  CHECK(words_of_id("a-b-c3") == std::vector<std::string>{"A-", "B-", "C3"});
}
