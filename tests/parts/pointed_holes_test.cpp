// Holes that print lying: a point where there is room, none where it would do harm, and the written file has it.
#include "parts/pointed_holes.h"

#include <catch2/catch.hpp>

#include "checks/keyed_parts.h"
#include "output/make_set.h"
#include "parts/support.h"
#include "print/pose.h"
#include "solid/build.h"

using namespace parts_test;

namespace {

constexpr double spare_mm = 0.8;

Feature block(double half_x, double half_y) {
  const Loop edge = polygon_loop({{-half_x, -half_y}, {half_x, -half_y}, {half_x, half_y}, {-half_x, half_y}});
  return outline(edge, edge, Bound::at(0), Bound::at(5), 0, 0.01);
}

Part with_hole(Vec2 at, double diameter_mm) {
  Part part;
  part.id = "block";
  part.features = {block(20, 20), clearance_hole("hole", at, diameter_mm, Bound::open(), Bound::open(), 5, {})};
  return part;
}

const Feature& hole_of(const Part& part) {
  return *feature_of(part, "hole");
}

}  // namespace

TEST_CASE("pointed holes: a circle and its point enclose what the closed form says, with the point where up is") {
  for (const Vec2 up : {Vec2{0, 1}, Vec2{0, -1}, Vec2{1, 0}, Vec2{-1, 0}}) {
    const Part pointed = with_pointed_holes(with_hole({3, -2}, 6), up, spare_mm);
    const Loop& loop = hole_of(pointed).profile.front();
    REQUIRE_FALSE(loop.circle);
    // Three quarters of the circle and a square of its radius: r^2 (3 pi / 4 + 1).
    CHECK(area(loop) == Approx(9 * (0.75 * pi + 1)).epsilon(1e-9));
    CHECK(contains(loop, Vec2{3, -2} + 4.23 * up));
    CHECK_FALSE(contains(loop, Vec2{3, -2} + 4.25 * up));
    CHECK_FALSE(contains(loop, Vec2{3, -2} - 3.01 * up));
    CHECK(nominal(hole_of(pointed), "point") == Approx(6 * std::sqrt(0.5)));
    CHECK(nominal(hole_of(pointed), "diameter") == 6);
    CHECK(states(pointed, "with a point upward"));
  }
}

TEST_CASE("pointed holes: the solid loses the point's volume and no more") {
  Part part = with_hole({0, 0}, 6);
  part.chord_mm = 0.002;
  const double round = volume(build_solid(part)), pointed = volume(build_solid(with_pointed_holes(part, {0, 1}, spare_mm)));
  // The point adds r^2 (1 - pi / 4) in plan; facets of 0.002 mm chord leave at most that over the quarter's arc.
  CHECK(round - pointed == Approx(5 * 9 * (1 - pi / 4)).margin(5 * 0.002 * 3 * pi / 2));
}

TEST_CASE("pointed holes: near an edge, another hole, a boss or a mark a hole stays round and the part says so") {
  // The tip is 1.243 mm beyond the circle: 20 - 15.2 - 4.243 leaves 0.557 mm, less than the spare.
  const Part near_edge = with_pointed_holes(with_hole({0, 15.2}, 6), {0, 1}, spare_mm);
  CHECK(hole_of(near_edge).profile.front().circle);
  CHECK(states(near_edge, "no room for a point above hole"));
  CHECK_FALSE(hole_of(with_pointed_holes(with_hole({0, 15.2}, 6), {0, -1}, spare_mm)).profile.front().circle);

  Part two = with_hole({0, 0}, 6);
  two.features.push_back(clearance_hole("other", {0, 6.5}, 3, Bound::open(), Bound::open(), 5, {}));
  CHECK(hole_of(with_pointed_holes(two, {0, 1}, spare_mm)).profile.front().circle);
  CHECK_FALSE(hole_of(with_pointed_holes(two, {1, 0}, spare_mm)).profile.front().circle);

  Part boss = with_hole({0, 0}, 6);
  boss.features.insert(boss.features.begin() + 1, boss_down("boss", {0, 7}, 6, 0, 3, {}));
  CHECK(hole_of(with_pointed_holes(boss, {0, 1}, spare_mm)).profile.front().circle);

  Part marked = with_hole({0, 0}, 6);
  Feature mark;
  mark.id = "mark";
  mark.kind = FeatureKind::mark;
  mark.effect = Effect::cut;
  mark.profile = {polygon_loop({{-2, 4.5}, {2, 4.5}, {2, 6}, {-2, 6}})};
  marked.features.push_back(mark);
  CHECK(hole_of(with_pointed_holes(marked, {0, 1}, spare_mm)).profile.front().circle);
  CHECK_FALSE(hole_of(with_pointed_holes(marked, {0, -1}, spare_mm)).profile.front().circle);
}

TEST_CASE("pointed holes: a hole that shares its axis with an insert stays round, and so does the insert's pocket") {
  Part part = with_hole({0, 0}, 3.4);
  part.features.push_back(insert_pocket("insert", {0, 0}, 4, 0, 4.5, {}));
  const Part pointed = with_pointed_holes(part, {0, 1}, spare_mm);
  for (const Feature& f : pointed.features)
    if (f.effect == Effect::cut) CHECK(f.profile.front().circle);
  CHECK(pointed.statements.empty());
}

TEST_CASE("pointed holes: a plate that prints on its edge has them in its file, and bridges less") {
  const Kit kit = demo_kit("tall-bench");
  for (const Part& part : of_family(parts_of(kit), "adapter_plate")) {
    if (part.id != "adapter-a") continue;
    std::vector<MadePart> made = {make_part(kit, part)};
    REQUIRE(made.front().report.pose.way == Way::on_rear);
    REQUIRE(made.front().report.pose.pointed);
    const Pose round = choose_pose(part, build_solid(part), kit.printer);
    CHECK(made.front().report.pose.bridge_mm2 < 0.5 * round.bridge_mm2);
    compare_made(made, 0);
    int points = 0;
    for (const MeasuredDimension& d : made.front().report.dimensions) {
      if (d.quantity != "point") continue;
      ++points;
      REQUIRE(d.measured_mm);
      CHECK(*d.measured_mm == Approx(d.modelled_mm).margin(0.02));
    }
    CHECK(points == 8);  // four holes and their counterbores
  }
}

TEST_CASE("pointed holes: an edge on the bed without a chamfer is told to be scraped, one with a chamfer is not") {
  int told = 0, not_told = 0;
  // Its plates carry a key over their lower edge, which therefore has no bevel.
  for (const char* name : {"west-bench", "north-bench"}) {
    const Kit kit = demo_kit(name);
    for (const Part& part : keyed_parts(kit, settle(kit))) {
      if (part.family == "shim") continue;
      const bool says = states(make_part(kit, part).report.part, "scrape first-layer flare");
      CHECK(says == (std::string(name) == "west-bench" && part.family == "adapter_plate"));
      ++(says ? told : not_told);
    }
  }
  CHECK(told == 4);
  CHECK(not_told == 3);
}
