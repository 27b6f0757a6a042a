#include "base/loop.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "base/trig.h"

using namespace bedwright;

// Sums and trigonometric functions of a handful of curves: a few ulp of the result.
constexpr double exact = 1e-12;

TEST_CASE("loop: areas of circle, slot, rectangle and hull agree with closed forms") {
  CHECK(area(circle_loop({3, 4}, 2.5, Facets::inside)) == Approx(pi * 6.25).epsilon(exact));
  CHECK(area(slot_loop({1, 2}, 1.7, 3, {0.6, 0.8}, Facets::outside)) == Approx(pi * 2.89 + 3 * 3.4).epsilon(exact));
  CHECK(area(rectangle_loop({5, 5}, {30, 20}, 4)) == Approx(600 - (4 - pi) * 16).epsilon(exact));
  CHECK(area(rectangle_loop({5, 5}, {30, 20}, 0)) == Approx(600).epsilon(exact));
  // Two circles radii a, b, centres d apart: tangent trapezium and two sectors (elementary geometry).
  const double a = 7, b = 3, d = 20, t = std::asin((a - b) / d);
  const double hull = (a + b) * d * std::cos(t) + a * a * (pi / 2 + t) + b * b * (pi / 2 - t);
  CHECK(area(hull_of_circles({{0, 0}, {12, 16}}, {a, b})) == Approx(hull).epsilon(exact));
}

TEST_CASE("loop: a hull contains its circles, drops those inside, and turns with them") {
  const std::vector<Vec2> centres{{-10, -7}, {10, -7}, {10, 7}, {-10, 7}, {23, 30}, {0, 0}, {22, 29}};
  const std::vector<double> radii{5, 5, 5, 5, 6.8, 2, 1};
  const Loop hull = hull_of_circles(centres, radii);
  for (std::size_t i = 0; i < centres.size(); ++i)
    for (int k = 0; k < 360; ++k) {
      const double angle = k * rad_per_deg;
      const Vec2 p = centres[i] + (radii[i] - 1e-9) * Vec2{cos_rad(angle), sin_rad(angle)};
      CHECK(contains(hull, p));
    }
  for (int turn_deg : {17, 90, 133, 180, 270, 301}) {
    const Transform t = turn_about_z(turn_deg * rad_per_deg);
    std::vector<Vec2> turned;
    for (Vec2 c : centres) {
      const Vec3 q = apply(t, {c.x, c.y, 0});
      turned.push_back({q.x, q.y});
    }
    CHECK(area(hull_of_circles(turned, radii)) == Approx(area(hull)).epsilon(exact));
  }
  CHECK(hull_of_circles({{1, 1}, {1.5, 1}}, {3, 1}).circle);
}

TEST_CASE("loop: facets stay on their side of the true curve and within the chord") {
  for (double chord : {0.05, 0.01, 0.001})
    for (double radius : {0.7, 1.7, 2.25, 5.0, 40.0})
      for (Facets side : {Facets::inside, Facets::outside})
        for (double extra : {0.0, 1.0}) {
          const Loop loop = slot_loop({2, -1}, radius, extra, {0, 1}, side);
          const auto p = polygonised(loop, chord);
          double most = 0;
          for (std::size_t i = 0; i < p.size(); ++i)
            for (int k = 0; k < 8; ++k) {
              const Vec2 q = p[i] + (k / 8.0) * (p[(i + 1) % p.size()] - p[i]);
              const double d = distance(loop, q);
              most = std::max(most, d);
              if (d > 1e-9) CHECK(contains(loop, q) == (side == Facets::inside));
            }
          CHECK(most <= chord + 1e-12);
        }
}

TEST_CASE("loop: facet counts are the least even ones for the chord") {
  // r (1 / cos(pi / n) - 1) <= chord, solved by hand for 3.4 and 9 mm holes at 0.01.
  CHECK(facets_of_circle(1.7, 0.01) == 30);
  CHECK(facets_of_circle(4.5, 0.01) == 48);
  for (double r : {0.5, 1.2, 3.3, 20.0, 300.0}) {
    const int n = facets_of_circle(r, 0.01);
    CHECK(n % 2 == 0);
    CHECK(r * (1 / std::cos(pi / n) - 1) <= 0.01 * (1 + 1e-9));
    if (n > 10) CHECK(r * (1 / std::cos(pi / (n - 2)) - 1) > 0.01);
  }
}

TEST_CASE("loop: mirror twice and turn four times give the loop back") {
  const Loop hull = hull_of_circles({{-10, -7}, {10, -7}, {23, 30}}, {5, 2, 6.8});
  Transform mirror;
  mirror.m[0] = -1;
  const Loop twice = transformed(transformed(hull, mirror), mirror);
  CHECK(area(transformed(hull, mirror)) == Approx(area(hull)).epsilon(exact));
  Loop round = hull;
  for (int i = 0; i < 4; ++i) round = transformed(round, quarter_turn(2, 1));
  for (std::size_t i = 0; i < hull.curves.size(); ++i) {
    CHECK(twice.curves[i].start == hull.curves[i].start);
    CHECK(round.curves[i].start == hull.curves[i].start);
  }
}

TEST_CASE("loop: box, distance and inside of arcs beyond a half turn") {
  // A circle of radius 5 with its right part cut off at x = 3: the arc sweeps more than a half turn.
  Loop loop;
  Curve arc;
  arc.arc = true;
  arc.radius = 5;
  arc.start = {3, 4};
  arc.end = {3, -4};
  loop.curves = {arc, {{3, -4}, {3, 4}}};
  const PlaneBox box = bounding_box(loop);
  CHECK(box.low.x == Approx(-5));
  CHECK(box.high.x == Approx(3));
  CHECK(box.high.y == Approx(5));
  CHECK(contains(loop, {-4.9, 0}));
  CHECK(contains(loop, {2.9, 0}));
  CHECK(contains(loop, {0, 4.9}));
  CHECK(!contains(loop, {3.1, 0}));
  CHECK(!contains(loop, {4, 4}));
  CHECK(distance(loop, {4, 0}) == Approx(1));
  CHECK(distance(loop, {-7, 0}) == Approx(2));
}

TEST_CASE("loop: the distance to arcs of any sweep is that to their points, densely taken") {
  constexpr double chord_mm = 1e-4;
  Loop clockwise = teardrop_loop({1, 2}, 3, {0, 1}, Facets::inside);
  std::reverse(clockwise.curves.begin(), clockwise.curves.end());
  for (Curve& c : clockwise.curves) std::swap(c.start, c.end), c.ccw = !c.ccw;
  for (const Loop& loop : {teardrop_loop({1, 2}, 3, {0, 1}, Facets::inside), clockwise, rectangle_loop({0, 0}, {9, 6}, 2),
                           pointed_slot_loop({0, 0}, 2, 1.5, {1, 0}, {0, 1}, Facets::inside)}) {
    const std::vector<Vec2> points = polygonised(loop, chord_mm);
    for (double x = -6; x <= 6; x += 0.73)
      for (double y = -6; y <= 7; y += 0.71) {
        const Vec2 p{x, y};
        double least = 1e9;
        for (std::size_t i = 0; i < points.size(); ++i) {
          const Vec2 a = points[i], d = points[(i + 1) % points.size()] - a;
          const double t = std::max(0.0, std::min(1.0, dot(p - a, d) / dot(d, d)));
          least = std::min(least, length(p - (a + t * d)));
        }
        CAPTURE(x, y);
        CHECK(std::fabs(distance(loop, p) - least) <= chord_mm);
      }
  }
}

TEST_CASE("loop: too few points are no polygon, and each circle of a hull has a radius") {
  CHECK_THROWS_WITH(polygon_loop({{0, 0}, {1, 0}}), "a polygon needs at least three points");
  CHECK_THROWS_WITH(hull_of_circles({{0, 0}, {1, 0}}, {1}), "a hull needs as many radii as centres");
  CHECK_THROWS_WITH(hull_of_circles({}, {}), "a hull needs as many radii as centres");
}
