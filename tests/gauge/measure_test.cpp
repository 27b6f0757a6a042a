#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "gauge/gauge.h"
#include "gauge/read_mesh.h"
#include "gauge/shapes.h"

using namespace bedwright;
using shapes::Column;

namespace {

const double pi = std::acos(-1.0);
/// Vertices lie within half a lattice step (2^-17 mm) of the ideal in each coordinate; a radius from facets sees at
/// most sqrt(2) of that on either side, a diameter twice: 4 * sqrt(2) * 2^-17 with the search's own 1e-8.
constexpr double diameter_bound = 4.4e-5;

std::vector<MeasuredFeature> of_kind(const Measurement& m, const std::string& kind) {
  std::vector<MeasuredFeature> out;
  for (const auto& f : m.features)
    if (f.kind == kind) out.push_back(f);
  return out;
}

Column column(Column::Kind kind, shapes::Polygon outer, shapes::Polygon inner = {}, double level = 0,
              double inner_level = 0) {
  Column c;
  c.kind = kind;
  c.outer = std::move(outer);
  c.inner = std::move(inner);
  c.level = level;
  c.inner_level = inner_level;
  return c;
}

/// 60 x 40, every kind of column.
shapes::Plate full_plate(shapes::Height top, double grid) {
  using K = Column::Kind;
  shapes::Plate p;
  p.outline = shapes::rounded_rectangle({0, 0}, {60, 40}, 5, 12);
  p.top = std::move(top);
  p.grid_mm = grid;
  p.columns = {
      column(K::hole, shapes::circle({-20, 10}, 4.5, 32, true)),
      column(K::counterbore_top, shapes::circle({-10, -10}, 6.5, 40, true), shapes::circle({-10, -10}, 3.4, 28, true),
             2.5),
      column(K::counterbore_top, shapes::slot({10, -10}, 6.5, 7.5, {1, 0}, 40),
             shapes::slot({10, -10}, 3.4, 4.4, {1, 0}, 28), 2.5),
      column(K::boss_bottom, shapes::circle({20, 10}, 10, 48, false), shapes::circle({20, 10}, 5.6, 36, true), -4, 1.5),
      column(K::blind_top, shapes::circle({0, 10}, 8, 8, true), {}, 4),
      column(K::blind_bottom, shapes::circle({0, -2}, 3, 24, true), {}, 2)};
  return p;
}

}  // namespace

TEST_CASE("measure: volume, area and box of a box and of a polygon ring") {
  const Measurement b = measure(shapes::soup(shapes::box({-1, 2, 3}, {9, 22, 33})));
  CHECK(b.volume_mm3 == Approx(6000).epsilon(1e-14));
  CHECK(b.area_mm2 == Approx(2200).epsilon(1e-14));
  CHECK(b.box.high.z == 33);
  CHECK(of_kind(b, "plane").size() == 6);
  const Measurement r = measure(shapes::soup(shapes::turned_profile({{2, 0}, {5, 0}, {5, 3}, {2, 3}}, 64)));
  // Regular 64-gons, area n/2 r^2 sin(2 pi / n); snapping moves each corner by at most 2^-17 mm.
  const double ring = 32 * std::sin(2 * pi / 64) * (25 - 4);
  CHECK(r.volume_mm3 == Approx(3 * ring).epsilon(1e-5));
}

TEST_CASE("measure: holes, counterbores, slots, bosses and pockets of a plate") {
  const Measurement m = measure(shapes::soup(shapes::build(full_plate(shapes::flat(6), 0))));
  REQUIRE(m.health.closed);
  CHECK(m.health.oriented);
  CHECK(m.health.self_intersections == 0);
  CHECK(m.health.euler == 2 - 2 * 3);  // three ways through

  const auto holes = of_kind(m, "hole");
  REQUIRE(holes.size() == 5);
  const auto find = [&](double diameter) {
    for (const auto& h : holes)
      if (std::fabs(h.diameter_mm - diameter) < 0.01) return h;
    FAIL("no hole of " << diameter);
    return holes[0];
  };
  const MeasuredFeature clear = find(4.5), under = find(3.4), insert = find(5.6), octagon = find(8), blind = find(3);
  CHECK(std::fabs(clear.diameter_mm - 4.5) < diameter_bound);
  CHECK(clear.through);
  CHECK(clear.at.x == Approx(-20).margin(2e-5));
  CHECK(clear.at.y == Approx(10).margin(2e-5));
  CHECK(clear.at.z == Approx(6).margin(1e-12));
  CHECK(clear.depth_mm == Approx(6).margin(1e-12));
  CHECK(under.through);
  CHECK(under.depth_mm == Approx(2.5).margin(1e-12));
  CHECK_FALSE(insert.through);
  CHECK(insert.axis.z == -1);
  CHECK(insert.at.z == -4);
  CHECK(insert.depth_mm == Approx(5.5).margin(1e-12));
  CHECK(std::fabs(octagon.diameter_mm - 8) < diameter_bound);
  CHECK(octagon.axis.z == 1);
  CHECK(octagon.depth_mm == Approx(2).margin(1e-12));
  CHECK(blind.axis.z == -1);
  CHECK(blind.at.z == 0);
  CHECK(blind.depth_mm == Approx(2).margin(1e-12));

  const auto counterbores = of_kind(m, "counterbore");
  REQUIRE(counterbores.size() == 1);
  CHECK(std::fabs(counterbores[0].diameter_mm - 6.5) < diameter_bound);
  CHECK(counterbores[0].depth_mm == Approx(3.5).margin(1e-12));
  CHECK(counterbores[0].axis.z == 1);
  const auto long_bores = of_kind(m, "counterbore_slot"), slots = of_kind(m, "slot");
  REQUIRE(long_bores.size() == 1);
  REQUIRE(slots.size() == 1);
  CHECK(std::fabs(long_bores[0].diameter_mm - 6.5) < diameter_bound);
  CHECK(std::fabs(long_bores[0].length_mm - 7.5) < 2 * diameter_bound);
  CHECK(std::fabs(slots[0].diameter_mm - 3.4) < diameter_bound);
  CHECK(std::fabs(slots[0].length_mm - 4.4) < 2 * diameter_bound);
  CHECK(std::fabs(slots[0].along.x) == Approx(1));
  CHECK(slots[0].through);
  const auto bosses = of_kind(m, "boss");
  REQUIRE(bosses.size() == 1);
  CHECK(std::fabs(bosses[0].diameter_mm - 10) < diameter_bound);
  CHECK(bosses[0].axis.z == -1);
  CHECK(bosses[0].at.z == -4);
  CHECK(bosses[0].depth_mm == Approx(4).margin(1e-12));
  const auto rounds = of_kind(m, "edge_round");
  REQUIRE(rounds.size() == 4);
  for (const auto& r : rounds) {
    CHECK(r.diameter_mm == Approx(10).margin(1e-3));
    CHECK(r.angle_deg == Approx(90).margin(0.01));
    CHECK_FALSE(r.concave);
  }
  CHECK(of_kind(m, "curved_seat").empty());
}

TEST_CASE("measure: facets are all accounted for, once") {
  const Measurement m = measure(shapes::soup(shapes::build(full_plate(shapes::sphere(2600, {3, -4}, 6, 1), 4))));
  std::vector<int> times(m.mesh.triangles.size(), 0);
  for (const auto& f : m.features)
    for (std::uint32_t i : f.facets) ++times[i];
  CHECK(std::all_of(times.begin(), times.end(), [](int n) { return n == 1; }));
}

TEST_CASE("measure: spherical seats from 500 mm to 100 m, crown up and down") {
  for (const int sign : {1, -1})
    for (const double radius : {500.0, 2600.0, 10000.0, 100000.0}) {
      const Measurement m = measure(
          shapes::soup(shapes::build(full_plate(shapes::sphere(radius, {3, -4}, 6, sign), radius < 1000 ? 3 : 5))));
      REQUIRE(m.health.closed);
      const auto seats = of_kind(m, "sphere_seat");
      REQUIRE(seats.size() == 1);
      // A noise of 2^-17 mm in z over a patch of radius a = 33 mm: curvature uncertain by about 8 * 2^-17 / a^2 at the
      // worst, so the radius by R^2 times that; the apex by R times the slope's 2 * 2^-17 / a.
      const double u = 1.0 / 131072;
      CHECK(std::fabs(seats[0].radius_mm - sign * radius) < 8 * u / (33 * 33) * radius * radius);
      CHECK(std::fabs(seats[0].at.x - 3) < 2 * u / 33 * radius + 1e-5);
      CHECK(std::fabs(seats[0].at.y + 4) < 2 * u / 33 * radius + 1e-5);
      CHECK(std::fabs(seats[0].at.z - 6) < 1e-4);
      CHECK(seats[0].residual_mm < 3e-5);
    }
}

TEST_CASE("measure: cylindrical, tilted and two-radius seats") {
  const Measurement c = measure(shapes::soup(shapes::build(full_plate(shapes::cylinder(3000, 2, 6, 1), 5))));
  const auto cylinders = of_kind(c, "cylinder_seat");
  REQUIRE(cylinders.size() == 1);
  CHECK(cylinders[0].radius_mm == Approx(3000).margin(1));
  CHECK(std::fabs(cylinders[0].axis.y) > 1 - 1e-8);
  const Measurement t = measure(shapes::soup(shapes::build(full_plate(shapes::tilted(0.01, -0.02, 6), 5))));
  const auto planes = of_kind(t, "plane");
  const auto top =
      std::find_if(planes.begin(), planes.end(), [](const auto& p) { return p.axis.z > 0 && p.axis.z < 0.99999; });
  REQUIRE(top != planes.end());
  CHECK(-top->axis.x / top->axis.z == Approx(0.01).margin(1e-6));
  CHECK(-top->axis.y / top->axis.z == Approx(-0.02).margin(1e-6));
  const Measurement r =
      measure(shapes::soup(shapes::build(full_plate(shapes::two_radius(2600, 1500, {3, -4}, 6, 1), 5))));
  CHECK(of_kind(r, "curved_seat").size() == 1);
  CHECK(of_kind(r, "sphere_seat").empty());
}

TEST_CASE("measure: a hole along X, in a turned file") {
  Mesh m = shapes::build(full_plate(shapes::flat(6), 0));
  m = transformed(m, quarter_turn(1, 1));  // +Z to +X
  const Measurement q = measure(shapes::soup(m));
  const auto bosses = of_kind(q, "boss");
  REQUIRE(bosses.size() == 1);
  CHECK(bosses[0].axis.x == Approx(-1));
  CHECK(bosses[0].at.x == Approx(-4));
  // Any direction: float32 rounding of turned coordinates below 64 mm is 2^-19 mm at most.
  Transform skew = compose(turn_about_z(0.7), compose(quarter_turn(0, 1), turn_about_z(0.4)));
  const Measurement s = measure(shapes::soup(transformed(shapes::build(full_plate(shapes::flat(6), 0)), skew)));
  CHECK(of_kind(s, "hole").size() == 5);
  CHECK(of_kind(s, "counterbore").size() == 1);
  CHECK(of_kind(s, "slot").size() == 1);
  CHECK(std::fabs(of_kind(s, "boss").at(0).diameter_mm - 10) < 2 * diameter_bound);
}

TEST_CASE("measure: engraved letters do not become holes or bosses") {
  shapes::Plate p = full_plate(shapes::flat(6), 0);
  // An L and a small square, half a millimetre deep.
  const shapes::Polygon letter{{-25, -5}, {-22, -5}, {-22, -4.2}, {-24.2, -4.2}, {-24.2, 0}, {-25, 0}};
  p.columns.push_back(column(Column::Kind::blind_top, letter, {}, 5.5));
  p.columns.push_back(column(Column::Kind::blind_top, shapes::rectangle({-17, -3}, {2, 2}), {}, 5.5));
  const Measurement m = measure(shapes::soup(shapes::build(p)));
  CHECK(m.health.closed);
  CHECK(of_kind(m, "hole").size() == 5);
  CHECK(of_kind(m, "boss").size() == 1);
  CHECK(of_kind(m, "slot").size() == 1);
  CHECK(of_kind(m, "edge_round").size() == 4);
}

TEST_CASE("measure: a conical rim") {
  // A sleeve: bore 6, countersunk at 45 degrees to 10 at the top.
  const Measurement m = measure(shapes::turned_profile({{3, 0}, {8, 0}, {8, 6}, {5, 6}, {3, 4}}, 48));
  const auto cones = of_kind(m, "cone");
  REQUIRE(cones.size() == 1);
  CHECK(cones[0].depth_mm == Approx(2).margin(1e-6));
  CHECK(cones[0].diameter_mm == Approx(10).margin(1e-4));
  CHECK(cones[0].angle_deg == Approx(45).margin(0.2));
  const auto bosses = of_kind(m, "boss");
  REQUIRE(bosses.size() == 1);
  CHECK(bosses[0].diameter_mm == Approx(16).margin(1e-4));
  REQUIRE(of_kind(m, "hole").size() == 1);
  CHECK(of_kind(m, "hole")[0].through);
}

TEST_CASE("measure: an inside-out file is measured as the part it would be, and its health says so") {
  const Mesh good = shapes::build(full_plate(shapes::flat(6), 0));
  const Measurement m = measure(shapes::soup(shapes::inside_out(good)));
  CHECK(m.volume_mm3 < 0);
  CHECK_FALSE(m.health.oriented);
  CHECK(of_kind(m, "boss").size() == 1);
  CHECK(of_kind(m, "hole").size() == 5);
}

TEST_CASE("measure: facet order changes nothing but facet numbers") {
  const Mesh good = shapes::soup(shapes::build(full_plate(shapes::sphere(2600, {0, 0}, 6, 1), 5)));
  Mesh shuffled = good;
  for (std::size_t f = 0; f < good.triangles.size(); ++f) {
    const auto t = good.triangles[(f * 7919) % good.triangles.size()];
    shuffled.triangles[f] = {t[1], t[2], t[0]};
  }
  const Measurement a = measure(good), b = measure(shuffled);
  REQUIRE(a.features.size() == b.features.size());
  for (std::size_t i = 0; i < a.features.size(); ++i) {
    CHECK(a.features[i].kind == b.features[i].kind);
    CHECK(a.features[i].diameter_mm == Approx(b.features[i].diameter_mm).margin(1e-6));
    CHECK(a.features[i].at.z == Approx(b.features[i].at.z).margin(1e-6));
  }
}

TEST_CASE("measure: a wall bent by a few degrees is planes, not a curved seat") {
  shapes::Plate p;
  p.outline = {{0, 0}, {30, 0}, {30, 20}, {15, 21}, {0, 20}};
  const Measurement m = measure(shapes::soup(shapes::build(p)));
  CHECK(of_kind(m, "plane").size() == 7);
  CHECK(m.features.size() == 7);
}
