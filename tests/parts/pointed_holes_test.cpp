// Holes that print lying: a point where there is room, none where it would do harm, and the written file has it.
#include "parts/pointed_holes.h"

#include <catch2/catch.hpp>

#include "checks/keyed_parts.h"
#include "gauge/compare.h"
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

Part with_slot(Vec2 at, double width_mm, double extra_mm, Vec2 along, double chord_mm = 0.01) {
  Part part;
  part.id = "block";
  part.chord_mm = chord_mm;
  part.features = {block(20, 20),
                   clearance_slot("hole", at, width_mm, extra_mm, along, Bound::open(), Bound::open(), 5, {})};
  return part;
}

/// A teardrop of that radius, and what its halves enclose when they are drawn `extra` apart: along the point a
/// rectangle (and the corners between wall, flank and what would be the arc), across it a column up to both flanks'
/// longer roof.
double pointed_area(double r, double extra, bool across) {
  const double drop = r * r * (0.75 * pi + 1);
  return across ? drop + extra * r * (1 + std::sqrt(2.0)) + extra * extra / 4
                : drop + 2 * r * extra + 2 * r * r * (std::sqrt(2.0) - 1 - pi / 8);
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
  const double round = volume(build_solid(part)),
               pointed = volume(build_solid(with_pointed_holes(part, {0, 1}, spare_mm)));
  // The point adds r^2 (1 - pi / 4) in plan; facets of 0.002 mm chord leave at most that over the quarter's arc.
  CHECK(round - pointed == Approx(5 * 9 * (1 - pi / 4)).margin(5 * 0.002 * 3 * pi / 2));
}

TEST_CASE("pointed slots: along the point and across it they enclose what the closed form says") {
  for (const double extra : {0.4, 1.0, 5.0})
    for (const Vec2 along : {Vec2{1, 0}, Vec2{0, 1}})
      for (const Vec2 up : {Vec2{0, 1}, Vec2{0, -1}, Vec2{1, 0}, Vec2{-1, 0}}) {
        CAPTURE(extra, along.x, up.x, up.y);
        const Part pointed = with_pointed_holes(with_slot({3, -2}, 4, extra, along), up, spare_mm);
        const Loop& loop = hole_of(pointed).profile.front();
        const bool across = std::fabs(dot(along, up)) < 0.5;
        CHECK(area(loop) == Approx(pointed_area(2, extra, across)).epsilon(1e-9));
        const double tip = 2 * std::sqrt(2.0) + extra / 2;
        CHECK(contains(loop, Vec2{3, -2} + (tip - 0.01) * up));
        CHECK_FALSE(contains(loop, Vec2{3, -2} + (tip + 0.01) * up));
        CHECK(nominal(hole_of(pointed), "point") == Approx(tip));
        CHECK(nominal(hole_of(pointed), "width") == 4);
        CHECK(nominal(hole_of(pointed), "length") == 4 + extra);
        // All of the slot as it was is still open.
        for (const Vec2 p : polygonised(hole_of(with_slot({3, -2}, 3.98, extra, along)).profile.front(), 0.001))
          CHECK(contains(loop, p));
        CHECK(with_pointed_holes(pointed, up, spare_mm).statements == pointed.statements);
      }
}

TEST_CASE("pointed holes: one without room keeps all of its kind and size round, and no others") {
  Part part = with_hole({0, 15.2}, 6);  // 0.557 mm left at its tip
  part.features.push_back(clearance_hole("alike", {0, -10}, 6, Bound::open(), Bound::open(), 5, {}));
  part.features.push_back(clearance_hole("smaller", {12, -10}, 4, Bound::open(), Bound::open(), 5, {}));
  const Part pointed = with_pointed_holes(part, {0, 1}, spare_mm);
  CHECK(hole_of(pointed).profile.front().circle);
  CHECK(feature_of(pointed, "alike")->profile.front().circle);
  CHECK_FALSE(feature_of(pointed, "smaller")->profile.front().circle);
  CHECK(states(pointed, "no room for a point above hole, so none above alike, which are alike: run a drill"));
}

TEST_CASE("pointed slots: one that lies askew stays round and the part says so") {
  const double half = std::sqrt(0.5);
  const Part part = with_pointed_holes(with_slot({0, 0}, 4, 2, {half, half}), {0, 1}, spare_mm);
  CHECK_FALSE(find_dimension(hole_of(part), "point"));
  CHECK(states(part, "no room for a point above hole"));
}

TEST_CASE(
    "pointed slots: the file is measured as a slot with its width, length, middle and point, and the volume fits") {
  for (const double width : {3.2, 4.5, 6.5})
    for (const double extra : {0.5, 1.0, 4.0})
      for (const Vec2 along : {Vec2{1, 0}, Vec2{0, 1}})
        for (const Vec2 up : {Vec2{0, 1}, Vec2{0, -1}, Vec2{1, 0}}) {
          CAPTURE(width, extra, along.x, up.x, up.y);
          // Coarse facets too: a round end has only a few then.
          const double chord = width < 4 ? 0.01 : 0.02;
          const Part slot = with_slot({3, -2}, width, extra, along, chord),
                     pointed = with_pointed_holes(slot, up, spare_mm);
          const Mesh solid = build_solid(pointed);
          const bool across = std::fabs(dot(along, up)) < 0.5;
          // Facets stay within a chord beyond arcs of three quarters of a turn at most.
          CHECK(5 * 40 * 40 - volume(solid) ==
                Approx(5 * pointed_area(width / 2, extra, across)).margin(5 * chord * width * 0.75 * pi));
          const Comparison found = compare(measure(solid), {&pointed, &solid, {}}, {});
          for (const MeasuredDimension& d : found.dimensions) {
            if (d.feature != "hole") continue;
            CAPTURE(d.quantity);
            REQUIRE(d.measured_mm);
            CHECK(*d.measured_mm == Approx(d.modelled_mm).margin(d.tolerance_mm));
          }
          // The mistakes: the file has the slot with its point on the other side, and without one.
          const Part turned = with_pointed_holes(slot, -1.0 * up, spare_mm);
          for (const MeasuredDimension& d : compare(measure(build_solid(turned)), {&pointed, &solid, {}}, {}).dimensions)
            if (d.quantity == "point") CHECK_FALSE(d.measured_mm);
          for (const MeasuredDimension& d : compare(measure(build_solid(slot)), {&pointed, &solid, {}}, {}).dimensions)
            if (d.quantity == "point") CHECK_FALSE(d.measured_mm);
        }
}

TEST_CASE("pointed slots: a plate that prints on its edge has them too, and nothing is left to bridge") {
  const Kit kit = demo_kit("north-bench");
  int points = 0;
  for (const Part& part : of_family(parts_of(kit), "adapter_plate")) {
    std::vector<MadePart> made = {make_part(kit, part)};
    if (up_in_plan(made.front().report.pose) == std::nullopt) continue;
    compare_made(made, 0);
    for (const MeasuredDimension& d : made.front().report.dimensions) {
      const Feature* f = feature_of(made.front().report.part, d.feature);
      if (d.quantity != "point" || !find_dimension(*f, "length")) continue;
      ++points;
      CAPTURE(part.id, d.feature);
      REQUIRE(d.measured_mm);
      CHECK(*d.measured_mm == Approx(d.modelled_mm).margin(0.02));
    }
  }
  CHECK(points > 0);
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
