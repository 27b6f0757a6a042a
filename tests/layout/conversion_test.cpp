// Travel, heights, the base under the rails, what places and what floats.
#include <catch2/catch.hpp>
#include <cmath>

#include "base/error.h"
#include "checks/bench.h"
#include "kit/widest.h"
#include "layout/constraint_plan.h"
#include "layout/heights.h"
#include "layout/rail_line.h"

using namespace bedwright;

namespace {

Kit bench(const std::vector<Change>& changes = {}) {
  return read_kit(bench_json(changes).dump(), "bench", ".");
}

HeightTerm term(double mm, double plus_minus) {
  return {"", mm, plus_minus, ""};
}

}  // namespace

// Heights by hand: the frame stood at the old bed's height less its 4 mm and what stood between.
TEST_CASE("an old stand that is known says where the frame was, whatever stands there now", "[move]") {
  double rise[2] = {0, 0};
  int i = 0;
  for (const double stand : {16.0, 30.0}) {
    const Kit kit = bench({{"/before/stand_mm", 20}, {"/bed/stand_mm", stand}, {"/bed/spacer", "riser"}});
    const HeightPlan plan = height_plan(kit, settle(kit));
    REQUIRE(plan.frame_rise);
    CHECK(plan.frame_rise->sum_mm() ==
          Approx(plan.frame.sum_mm() - (*kit.before->bed_height_mm - *kit.bed->thickness_mm - 20)));
    rise[i++] = plan.frame_rise->sum_mm();
  }
  CHECK(rise[0] == Approx(rise[1]));
}

// Closed form: length - travel - margins - one body; then the travel that is left is the one asked for.
TEST_CASE("the widest spacing leaves the travel and the ends, a sweep", "[move]") {
  for (double travel = 120; travel <= 240; travel += 20)
    for (const double margin : {0.0, 4.0, 10.0}) {
      CAPTURE(travel, margin);
      const Kit kit = bench({{"/carriages/spacing_mm", "widest"},
                             {"/rails/travel_mm", travel},
                             {"/rails/end_margin_mm", margin},
                             {"/frame/reach_mm", 200},
                             {"/rails/stops_mm", {0, 0}}});
      CHECK(kit.carriages.widest);
      CHECK(kit.carriages.spacing_mm == Approx(370 - travel - 2 * margin - 34.8));
      const Layout layout = settle(kit);
      CHECK(layout.travel_available_mm == Approx(travel));
      CHECK(layout.travel_rear_mm == Approx(travel / 2));
      CHECK(layout.travel_front_mm == Approx(-travel / 2));
      CHECK(layout.rocking.after_um == Approx(5 * 120 / kit.carriages.spacing_mm));
    }
  // Anything wider is too wide.
  const double widest = widest_spacing_mm(370, 215, 4, 4, 34.8);
  CHECK(settle(bench({{"/carriages/spacing_mm", widest + 0.1}})).travel_available_mm < 215);
}

TEST_CASE("stops further in than the margin count, in the widest spacing too", "[move]") {
  const Kit kit = bench({{"/carriages/spacing_mm", "widest"}, {"/rails/stops_mm", {10, 3}}});
  CHECK(kit.carriages.spacing_mm == Approx(370 - 215 - 10 - 4 - 34.8));
  const Layout layout = settle(kit);
  CHECK(layout.travel_available_mm == Approx(215));
  CHECK(layout.travel_front_mm == Approx(-104.5));
  CHECK(layout.travel_rear_mm == Approx(110.5));
}

TEST_CASE("rails too short for two carriages and the travel are told", "[move]") {
  CHECK_THROWS_WITH(bench({{"/carriages/spacing_mm", "widest"}, {"/rails/travel_mm", 320}}),
                    Catch::Contains("/carriages/spacing_mm") && Catch::Contains("27.6 mm longer"));
  CHECK_THROWS_WITH(bench({{"/carriages/spacing_mm", "wide"}}),
                    Catch::Contains("a number") && Catch::Contains("\"widest\""));
}

// Published stack: 40+-0.10, 25+-0.05, 2+-0.03, 10+-0.05: worst +-0.23, RSS +-0.126.
TEST_CASE("a stack adds up, worst case and RSS", "[move]") {
  const HeightStack s{{term(40, 0.10), term(25, 0.05), term(2, 0.03), term(-10, 0.05)}};
  CHECK(s.sum_mm() == Approx(57));
  CHECK(s.worst_mm() == Approx(0.23));
  CHECK(s.rss_mm() == Approx(0.126).margin(5e-4));
}

TEST_CASE("the bed's height is the sum of what lies under it", "[move]") {
  const Kit kit = bench();
  const HeightPlan plan = height_plan(kit, settle(kit));
  REQUIRE(plan.bed);
  // Sphere of 2600 about the apex at (0, 0), mounts at (+-88, +-88): sag = R - sqrt(R^2 - 2 x 88^2).
  const double sag = 2600 - std::sqrt(2600.0 * 2600 - 2 * 88 * 88);
  const double height = settle(kit).height_mm;
  CHECK(plan.bed->sum_mm() == Approx(12.5 + 13 + (height - sag) + 2 + 24 + 4));
  CHECK(plan.rise->sum_mm() == Approx(plan.bed->sum_mm() - 62));
  CHECK(plan.frame_rise->sum_mm() == Approx(plan.rise->sum_mm()));
  CHECK(plan.nozzle->sum_mm() == Approx(0.1 - plan.rise->sum_mm()));
  CHECK(plan.mounts_differ_mm == Approx(0).margin(1e-9));
  CHECK(plan.missing.empty());
}

TEST_CASE("a bed that comes out lower is said to be lower", "[move]") {
  HeightPlan plan;
  plan.rise = HeightStack{{term(-0.3, 0.5)}};
  CHECK(rise_words(plan) == "0.3 mm lower than it was");
  plan.rise = HeightStack{{term(1.25, 0.5)}};
  CHECK(rise_words(plan) == "1.25 mm higher than it was");
}

TEST_CASE("a height wanted sets the spacers, and the part made is as thick", "[move]") {
  const Kit plainly = bench({{"/bed/spacer", "riser"}, {"/bed/stand_mm", 16}});
  const Kit kit = bench({{"/bed/spacer", "riser"}, {"/bed/stand_mm", 16}, {"/bed/height_mm", 65}});
  const Layout layout = settle(kit);
  const HeightPlan plan = height_plan(kit, layout);
  CHECK(plan.bed->sum_mm() == Approx(65).margin(0.005));
  REQUIRE(layout.set_thickness_mm.count("riser") == 1);
  const double wanted = layout.set_thickness_mm.at("riser");
  CHECK(wanted == Approx(8 + 65 - height_plan(plainly, settle(plainly)).bed->sum_mm()).margin(0.006));
  // The belt's clamp sits on the frame, which the spacers do not lift.
  CHECK(plan.belt->sum_mm() == Approx(height_plan(plainly, settle(plainly)).belt->sum_mm()));
  for (const Part& part : derive_parts(kit, layout))
    if (part.id == "riser") CHECK(part.seat.height == wanted);
  // No spacer named: the plates would have to change.
  const Kit other = bench({{"/bed/height_mm", 65}});
  CHECK(settle(other).set_thickness_mm.empty());
  CHECK(*height_plan(other, settle(other)).plate_change_mm ==
        Approx(65 - height_plan(other, settle(other)).bed->sum_mm()));
  CHECK_THROWS_AS(settle(bench({{"/bed/spacer", "riser"}, {"/bed/stand_mm", 16}, {"/bed/height_mm", 30}})), BadInput);
}

TEST_CASE("without before the result names what stays unanswered", "[move]") {
  Json document = bench_json({});
  document.erase("before");
  const Kit kit = read_kit(document.dump(), "bench", ".");
  const HeightPlan plan = height_plan(kit, settle(kit));
  CHECK_FALSE(plan.rise);
  CHECK_FALSE(plan.nozzle);
  CHECK(plan.missing.size() == 5);
}

TEST_CASE("a base backs a rail between its outline and its openings", "[move]") {
  BaseProfile base;
  base.outline_mm = {{-100, -150}, {100, -150}, {100, 150}, {0, 150}, {0, 100}, {-100, 100}};
  base.openings = {{"w", {60, -20}, {90, 30}, 0}};
  auto spans = backed_spans(base, -50, 6);
  REQUIRE(spans.size() == 1);
  CHECK(spans[0].from == Approx(-150));
  CHECK(spans[0].to == Approx(100));
  // A strip that stands half over the step is backed only as far as both halves are.
  spans = backed_spans(base, 0, 6);
  REQUIRE(spans.size() == 1);
  CHECK(spans[0].to == Approx(100));
  spans = backed_spans(base, 75, 6);
  REQUIRE(spans.size() == 2);
  CHECK(spans[0].to == Approx(-20));
  CHECK(spans[1].from == Approx(30));
  CHECK(backed_spans(base, 200, 6).empty());
  // Slanting side x = 100 - (y + 150) / 3: at x = 50 + 6 the strip is backed up to y = -18.
  base.outline_mm = {{-100, -150}, {100, -150}, {0, 150}, {-100, 150}};
  base.openings.clear();
  spans = backed_spans(base, 50, 6);
  REQUIRE(spans.size() == 1);
  CHECK(spans[0].to == Approx(-18).margin(1e-5));
  CHECK(base_holds(base, {49, -10}, 3));
  CHECK_FALSE(base_holds(base, {49, -0.5}, 3));
}

TEST_CASE("rail screws: usable over base and pads, lost over openings, edges and keep-outs", "[move]") {
  const Kit kit = bench({{"/base/openings/0/min_mm", {60, -30}},
                         {"/base/openings/0/max_mm", {90, 30}},
                         {"/keep_outs", {{{"id", "board"}, {"min_mm", {-90, 70, -40}}, {"max_mm", {-60, 105, -20}}}}}});
  const Layout layout = settle(kit);
  const auto lines = rail_lines(kit, layout, 10);
  REQUIRE(lines.size() == 2);
  // 370 mm at pitch 25: 15 holes, the first at y = -175. Right: the opening takes those at -25, 0 and 25.
  CHECK(lines[1].screws.size() == 15);
  CHECK(lines[1].usable() == 12);
  for (const RailScrew& s : lines[1].screws) CHECK(s.usable == (std::fabs(s.y_mm) > 26));
  // Left: the board takes 75 and 100.
  CHECK(lines[0].usable() == 13);
  CHECK_THAT(lines[0].screws[10].why, Catch::Contains("board"));
  // Screws that end above the board touch nothing.
  CHECK(rail_lines(kit, layout, 6)[0].usable() == 15);
  REQUIRE(lines[1].gaps.size() == 3);
  CHECK(lines[1].gaps[0].from_mm == Approx(-146));
  CHECK(lines[1].gaps[0].to_mm == Approx(-140));
  CHECK(lines[1].gaps[1].to_mm - lines[1].gaps[1].from_mm == Approx(60));
  CHECK_FALSE(lines[1].gaps[1].overhang);
}

TEST_CASE("rail holes: 300, 350 and 400 mm at pitch 25 have 12, 14 and 16", "[move]") {
  // Dimension libraries of profile rails, size 12, end distance 10: first hole 12.5.
  const std::pair<double, int> cases[] = {{300, 12}, {350, 14}, {400, 16}};
  for (const auto& [length_mm, count] : cases) {
    const RailHoles h = rail_holes(length_mm, 25, 10);
    CHECK(h.count == count);
    CHECK(h.first_mm == Approx(12.5));
  }
}

TEST_CASE("a named reference rail: round holes on it, slots on the other", "[move]") {
  const Kit alike = bench();
  for (const PlateRole& p : constraint_plan(alike, settle(alike)).plates) CHECK(p.extra_mm == 1);
  const Kit kit = bench({{"/rails/reference", "left"}});
  const Layout layout = settle(kit);
  const ConstraintPlan plan = constraint_plan(kit, layout);
  REQUIRE(plan.plates.size() == 4);
  for (const PlateRole& p : plan.plates) {
    const bool left = p.placement == "front-left" || p.placement == "rear-left";
    CHECK(p.places == left);
    // M3 in 3.4: 0.2 either side, 0.5 more in a slot of 1, less the pattern's 0.1.
    CHECK(p.across_left_mm == Approx(left ? 0.1 : 0.6));
    CHECK(p.along_left_mm == Approx(0.1));
    // M4 in 4.5.
    CHECK(p.frame_left_mm == Approx(0.15));
  }
  // The parts themselves: no slot on the left, and left and right are not one shape any more.
  int round = 0, slotted = 0;
  for (const Part& part : derive_parts(kit, layout)) {
    if (part.family != "adapter_plate") continue;
    const bool slots = std::any_of(part.features.begin(), part.features.end(),
                                   [](const Feature& f) { return f.kind == FeatureKind::slot; });
    for (const std::string& at : part.placements) {
      CHECK(slots == (at.find("right") != std::string::npos));
      ++(slots ? slotted : round);
    }
  }
  CHECK(round == 2);
  CHECK(slotted == 2);
  // What the kit lists wins.
  const Kit listed = bench({{"/rails/reference", "left"}, {"/parts/0/slot_at", {"front-left"}}});
  CHECK(constraint_plan(listed, settle(listed)).plates[0].extra_mm == 1);
}

// Handbook expansions: steel 12e-6, aluminium 23.3e-6 (hardware table); 90 - 20 and 45 - 20 K.
TEST_CASE("the bed grows away from its fixed mount", "[move]") {
  const Kit kit = bench({{"/bed/fixed_mount", "rear-left"}});
  const ConstraintPlan plan = constraint_plan(kit, settle(kit));
  REQUIRE(plan.mounts.size() == 4);
  const double strain = 23.3e-6 * 70 - 12e-6 * 25;
  for (const MountRole& m : plan.mounts) {
    const Vec2 away = m.at - Vec2{-88, 88};
    CHECK(length(m.growth_mm) == Approx(strain * length(away)).margin(1e-12));
    CHECK(m.fixed == (m.id == "rear-left"));
    // M4 in 4.5: 0.25 to every side; 176 mm away 0.234 passes, across the diagonal 0.332 does not.
    CHECK((m.slot_mm > 0) == (m.id == "front-right"));
  }
  CHECK(plan.across_growth_mm == Approx(150 * (12e-6 * 25 - 12e-6 * 5)));
}

// Makers' examples: 0.00015 x 120 = 0.018 mm across; along, 0.00005 x spacing.
TEST_CASE("measured pads: share of the makers' limits, and which to shim", "[move]") {
  const Kit kit = bench({{"/rails/pitch_mm", 120},
                         {"/frame/hole_pattern/pitch_mm", {160, 150}},
                         {"/carriages/pad_heights_mm", {6, 6.009, 6.002, 6.009}}});
  const ConstraintPlan plan = constraint_plan(kit, settle(kit));
  REQUIRE(plan.pads.size() == 4);
  CHECK(plan.pads[0].mm == Approx(-0.009));
  CHECK(plan.pads[0].limit_mm == Approx(0.00025 * 120));
  CHECK(plan.pads[0].used_percent() == Approx(30));
  CHECK(plan.pads[2].limit_mm == Approx(0.00005 * 90));
  CHECK(plan.pads[2].used_percent() == Approx(100 * 0.002 / 0.0045));
  CHECK(plan.pad_shim_mm[0] == Approx(0.009));
  CHECK(plan.pad_shim_mm[1] == Approx(0));
  Json preload = bench_json({{"/rails/pitch_mm", 120}, {"/frame/hole_pattern/pitch_mm", {160, 150}}});
  preload["carriages"].erase("clearance_um");
  Kit tight = read_kit(preload.dump(), "bench", ".");
  tight.carriages.clearance_um = -1;  // light preload, as the layout's limits see it
  CHECK(guideway_limits(tight).across_mm == Approx(0.018));
}

TEST_CASE("heights: on a support plate the belt's clamp and the flag sit on the pads that are for them") {
  // 13 rail and carriage + 5 sheet + 3.5 pad = 21.5; the old sheet's upper face: 49.5 - 24 - 4.
  const std::string path = std::string(BEDWRIGHT_ROOT) + "/params/kits/light-bench.json";
  const Kit kit = read_kit_file(path, {});
  const HeightPlan plan = height_plan(kit, settle(kit));
  REQUIRE(plan.belt);
  REQUIRE(plan.flag);
  CHECK(plan.belt->sum_mm() == Approx(0).margin(1e-9));
  CHECK(plan.flag->sum_mm() == Approx(0).margin(1e-9));
  CHECK(rise_words(plan) == "at the height it had");

  const Kit higher = read_kit_file(path, {{"/parts/0/pads/0/height_mm", "5"}});
  CHECK(height_plan(higher, settle(higher)).belt->sum_mm() == Approx(1.5));

  const Kit unsaid = read_kit_file(path, {{"/parts/0/pads", "[]"}});
  const HeightPlan silent = height_plan(unsaid, settle(unsaid));
  CHECK_FALSE(silent.belt);
  CHECK_FALSE(silent.flag);
  const auto told = [&](const std::string& words) {
    return std::any_of(silent.missing.begin(), silent.missing.end(),
                       [&](const std::string& m) { return m.find(words) != m.npos; });
  };
  CHECK(told("\"for\": \"belt_clamp\""));
  CHECK(told("\"for\": \"switch_flag\""));
}
