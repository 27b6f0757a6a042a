// Outlines moved outward: every point of the result lies at the distance, by closed forms and by sampling.
#include <catch2/catch.hpp>
#include <cmath>

#include "base/error.h"
#include "base/loop.h"
#include "base/trig.h"

using namespace bedwright;

namespace {

void check_distance(const Loop& loop, double by) {
  constexpr int samples = 40;
  for (const Curve& c : grown(loop, by).curves)
    for (int i = 0; i <= samples; ++i) {
      Vec2 p = c.start + (1.0 * i / samples) * (c.end - c.start);
      if (c.arc) {
        const ArcSpan span = span_of(c);
        const double a = span.from + span.sweep * i / samples;
        p = c.centre + c.radius * Vec2{cos_rad(a), sin_rad(a)};
      }
      CHECK(distance(loop, p) == Approx(by).margin(2e-6));
      CHECK_FALSE(contains(loop, p));
    }
}

}  // namespace

TEST_CASE("loop: a convex polygon grows by its rim, and a circle at its corners") {
  // Steiner's formula: A + L d + pi d^2.
  const Loop square = rectangle_loop({3, -2}, {20, 10}, 0);
  CHECK(area(grown(square, 0.5)) == Approx(200 + 60 * 0.5 + pi * 0.25).epsilon(1e-9));
  check_distance(square, 0.5);
  const Loop round = rectangle_loop({0, 0}, {20, 10}, 3);
  CHECK(area(grown(round, 0.7)) == Approx(area(round) + (60 - 24 + 6 * pi) * 0.7 + pi * 0.49).epsilon(1e-9));
  CHECK(grown(circle_loop({1, 1}, 4, Facets::inside), 0.3).radius == Approx(4.3));
}

TEST_CASE("loop: steps, hollows and arcs both ways keep the distance") {
  check_distance(polygon_loop({{0, 0}, {10, 0}, {10, 4}, {20, 4}, {20, 0}, {30, 0}, {30, 15}, {0, 15}}), 0.4);
  Loop stepped;
  Curve hollow{{10, 0}, {16, 6}};
  hollow.arc = true;
  hollow.centre = {16, 0};
  hollow.radius = 6;
  hollow.ccw = false;
  stepped.curves = {{{0, 0}, {10, 0}}, hollow, {{16, 6}, {30, 6}}, {{30, 6}, {30, 20}}, {{30, 20}, {0, 20}}, {{0, 20}, {0, 0}}};
  check_distance(stepped, 0.3);
}

TEST_CASE("loop: joints that hardly turn, either way, neither part nor pass each other") {
  for (double bend = 1e-9; bend < 1; bend *= 3.7)
    for (const double way : {-1.0, 1.0}) {
      INFO("bend " << way * bend);
      check_distance(polygon_loop({{0, 0}, {10, way * bend}, {20, 0}, {20, 10}, {0, 10}}), 0.3);
    }
}

TEST_CASE("loop: a hollow narrower than twice the distance is passed over at its mouth") {
  const Loop slit = polygon_loop({{0, 0}, {10, 0}, {10, 8}, {10.5, 8}, {10.5, 0}, {20, 0}, {20, 15}, {0, 15}});
  const Loop out = grown(slit, 0.4);
  check_distance(slit, 0.4);
  // Nothing of it stands in the slit, above the line where the two corners' arcs meet.
  for (Vec2 p : polygonised(out, 1e-3)) CHECK((p.y < 0 || p.x < 0 || p.x > 20 || p.y > 15));
}
