// Features along X and Y: what the exact boolean leaves, against closed forms and against the same body built upright.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "base/error.h"
#include "base/lattice.h"
#include "base/trig.h"
#include "gauge/gauge.h"
#include "parts/digest.h"
#include "parts/features.h"
#include "sketch.h"
#include "solid/build.h"
#include "solid/topology.h"

using namespace sketch;

namespace {

Feature across(const std::string& id, Along along, Loop loop, Bound from = Bound::open(), Bound to = Bound::open()) {
  Feature f = feature(id, Effect::cut, {std::move(loop)}, from, to);
  f.along = along;
  return f;
}

double snapped_area(const Loop& loop) {
  std::vector<Vec2> p = polygonised(loop, 0.01);
  for (Vec2& v : p) v = snap(v);
  return polygon_area(p);
}

void check_gates(const Mesh& m) {
  const auto defect = find_defect(m, least_height_mm);
  CHECK_FALSE(defect);
  const MeshHealth health = inspect(m);
  CHECK(health.closed);
  CHECK(health.oriented);
  CHECK(health.self_intersections == 0);
  CHECK(health.degenerate == 0);
  CHECK(health.pieces == 1);
  CHECK(health.least_height_mm >= least_height_mm);
  for (const Vec3& v : m.vertices) {
    CHECK(v == snap(v));
    CHECK(double(float(v.x)) == v.x);
  }
}

int genus(const Mesh& m) {
  return (2 - static_cast<int>(m.vertices.size()) + static_cast<int>(m.triangles.size()) / 2) / 2;
}

// Corners of a square cut off the lattice move by half a step each; facets add up a few thousand of these.
constexpr double volume_mm3 = 0.02;

}  // namespace

TEST_CASE("crossing: a hole along X or Y takes its polygon times the way through") {
  const Loop drop = teardrop_loop({3, 10}, 2.25, {0, 1}, Facets::outside);
  for (const Along along : {Along::x, Along::y}) {
    const Mesh m = build_solid(part({add("body", rectangle(0, 0, 40, 30), 0, 20), across("hole", along, drop)}));
    check_gates(m);
    CHECK(genus(m) == 1);
    const double way = along == Along::x ? 40 : 30;
    CHECK(volume(m) == Approx(40 * 30 * 20 - way * snapped_area(drop)).margin(volume_mm3));
  }
}

TEST_CASE("crossing: a teardrop's area is three quarters of the circle and a square over its roof") {
  const double r = 2.25;
  // 270 degrees of sector, and the kite between the tangents: r x r.
  CHECK(area(teardrop_loop({1, 2}, r, {0, 1}, Facets::outside)) == Approx(0.75 * pi * r * r + r * r).epsilon(1e-12));
  const PlaneBox box = bounding_box(teardrop_loop({1, 2}, r, {0, -1}, Facets::outside));
  CHECK(box.low.y == Approx(2 - r * std::sqrt(2.0)).epsilon(1e-12));
  CHECK(box.high.y == Approx(2 + r).epsilon(1e-12));
}

TEST_CASE("crossing: built upright and cut through sideways is the same body") {
  // A plate with holes along Z, and the same plate turned so that they lie along Y.
  const Loop outline = rectangle(0, 0, 50, 24, 4);
  const Mesh upright = build_solid(part({add("body", rectangle(0, 0, 50, 24), 0, 12), through("a", hole(-10, 2, 4.3)),
                                         down_to("b", hole(12, -3, 7), 5)}));
  const Mesh lying = build_solid(part({add("body", rectangle(0, 0, 50, 12), -12, 12),
                                       across("a", Along::y, hole(-10, 2, 4.3)),
                                       across("b", Along::y, hole(12, -3, 7), Bound::at(-1), Bound::open())}));
  check_gates(lying);
  // y runs from -6 to 6 there: floor 5 of 0 to 12 is -1.
  CHECK(volume(lying) == Approx(volume(upright)).margin(volume_mm3));
  CHECK(area(lying) == Approx(area(upright)).margin(volume_mm3));
  CHECK(lying.vertices.size() == upright.vertices.size());
  CHECK(lying.triangles.size() == upright.triangles.size());
  CHECK(area(outline) > 0);
}

TEST_CASE("crossing: a counterbore and its hole, holes that meet, and holes through upright ones") {
  const Mesh m = build_solid(part({add("body", rectangle(0, 0, 60, 30, 4), 0, 20), through("up", hole(20, 0, 5)),
                                   across("hole", Along::y, teardrop_loop({-15, 10}, 2.25, {0, 1}, Facets::outside)),
                                   across("sink", Along::y, teardrop_loop({-15, 10}, 4, {0, 1}, Facets::outside),
                                          Bound::at(7), Bound::open()),
                                   across("along", Along::x, hole(0, 10, 4))}));
  check_gates(m);
  // Upright, across and along, two crossings among them: 3 holes, and one handle more for each crossing.
  CHECK(genus(m) == 5);
}

TEST_CASE("crossing: holes through rounded corners and slanted walls keep the mesh gates") {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> place(-0.9, 0.9), size(1.2, 4.5);
  for (int i = 0; i < 25; ++i) {
    const double r = size(random), x = 15 * place(random), y = 12 * place(random);
    INFO("case " << i << ": radius " << r << ", x " << x << ", y " << y);
    std::vector<Feature> features{add("body", rectangle(0, 0, 44, 30, 9), 0, 20),
                                  through("step", polygon_loop({{-30, 6}, {-4, 9}, {3, 14.3}, {3, 40}, {-30, 40}})),
                                  across("a", Along::y, teardrop_loop({x, 9}, r, {0, 1}, Facets::outside)),
                                  across("b", Along::x, teardrop_loop({y, 9.7}, r / 2, {0, 1}, Facets::outside))};
    try {
      check_gates(build_solid(part(std::move(features))));
    } catch (const CannotBuild& refused) {
      // A hole that only grazes a wall may be refused, never botched.
      CHECK(refused.code == "features-nearly-touch");
      CHECK_FALSE(refused.features.empty());
    }
  }
}

TEST_CASE("crossing: what is flush with a wall, and what meets in a corner of the other") {
  // Flush: a step along Y to the very side, cut from above to the very end of the body.
  const Mesh flush =
      build_solid(part({add("body", rectangle(0, 0, 40, 30), 0, 20),
                        across("step", Along::y, rectangle(17, 15, 6, 10), Bound::open(), Bound::at(15))}));
  check_gates(flush);
  CHECK(volume(flush) == Approx(40 * 30 * 20 - 6 * 10 * 30).epsilon(1e-12));
  CHECK(flush.vertices.size() == 12);
  // Two bevels whose edges end in each other's, at a corner of the body.
  const auto bevel = [](double at) { return polygon_loop({{at - 2, -1}, {at + 1, -1}, {at - 2, 2}}); };
  const Mesh corner = build_solid(part({add("body", rectangle(0, 0, 40, 30), 0, 20),
                                        across("left", Along::y, bevel(-19)), across("front", Along::x, bevel(-14))}));
  check_gates(corner);
  CHECK(volume(corner) == Approx(40 * 30 * 20 - 0.5 * 40 - 0.5 * 30 + 1.0 / 3).epsilon(1e-12));
  CHECK(corner.vertices.size() == 11);
}

TEST_CASE("crossing: the same part gives the same mesh each time") {
  const Part p = part({add("body", rectangle(0, 0, 60, 30, 6), 0, 20), through("up", hole(20, 0, 5)),
                       across("a", Along::y, teardrop_loop({-24, 10}, 2.25, {0, 1}, Facets::outside)),
                       across("b", Along::x, hole(0, 10, 4))});
  const Mesh first = build_solid(p);
  for (int i = 0; i < 4; ++i) {
    const Mesh again = build_solid(p);
    CHECK(again.triangles == first.triangles);
    CHECK(again.vertices == first.vertices);
  }
}

TEST_CASE("crossing: what adds material sideways is refused, and so is what cuts the part in two") {
  Feature rib = across("rib", Along::x, rectangle(0, 10, 4, 4));
  rib.effect = Effect::add;
  const auto code = [](std::vector<Feature> features) -> std::string {
    try {
      build_solid(part(std::move(features)));
    } catch (const CannotBuild& refused) {
      return refused.code;
    }
    return "";
  };
  CHECK(code({add("body", rectangle(0, 0, 40, 30), 0, 20), rib}) == "crossing-adds");
  CHECK(code({add("body", rectangle(0, 0, 40, 30), 0, 20), across("saw", Along::x, rectangle(0, 10, 2, 30))}) ==
        "falls-apart");
}

TEST_CASE("crossing: the digest tells a hole's direction") {
  const auto digest = [](Along along) {
    return shape_digest(part({add("body", rectangle(0, 0, 30, 30), 0, 30), across("hole", along, hole(0, 15, 4))}));
  };
  CHECK(digest(Along::x) != digest(Along::y));
}

TEST_CASE("crossing: the gauge finds axis, diameter, depth and point of a hole along Y") {
  const Compensation none;
  const Mesh m = build_solid(part(
      {add("body", rectangle(0, 0, 40, 30), 0, 20),
       teardrop_hole("deep", FeatureKind::clearance_hole, Along::y, {-8, -15, 9}, {0, -1, 0}, 4.5, Bound::open(),
                     Bound::at(3), 1, none),
       teardrop_hole("through", FeatureKind::clearance_hole, Along::y, {8, -15, 9}, {0, -1, 0}, 3.4, Bound::open(),
                     Bound::open(), -1, none)}));
  int deep = 0, through_holes = 0;
  for (const MeasuredFeature& f : measure(m).features) {
    if (f.kind != "hole") continue;
    CHECK(std::fabs(f.axis.y) == Approx(1));
    if (f.at.x < 0) {
      ++deep;
      CHECK(f.axis.y == Approx(-1));
      CHECK_FALSE(f.through);
      CHECK(f.depth_mm == Approx(18).margin(height_tolerance_mm));
      CHECK(f.diameter_mm == Approx(4.5).margin(diameter_tolerance_mm));
      CHECK(f.at.z == Approx(9).margin(position_tolerance_mm));
      CHECK(f.point_mm == Approx(2.25 * std::sqrt(2.0)).margin(diameter_tolerance_mm));
      CHECK(f.point.z == Approx(1).margin(1e-3));
    } else {
      ++through_holes;
      CHECK(f.through);
      CHECK(f.depth_mm == Approx(30).margin(height_tolerance_mm));
      CHECK(f.point.z == Approx(-1).margin(1e-3));
    }
  }
  CHECK(deep == 1);
  CHECK(through_holes == 1);
}
