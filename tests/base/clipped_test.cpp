// What of a polygon lies within a convex one: areas by hand, and points asked one by one.
#include "base/clipped.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "base/loop.h"
#include "base/trig.h"
#include "parts/support.h"
#include "solid/plan.h"

using parts_test::Sequence;
using namespace bedwright;

namespace {

using Ring = std::vector<Vec2>;

double area_of(const Ring& ring) {
  return ring.empty() ? 0 : std::fabs(polygon_area(ring));
}

const Ring plate = {{-20, -10}, {20, -10}, {20, 10}, {-20, 10}};

}  // namespace

TEST_CASE("clipped: of a slot that is open at a plate's edge, a cut that divides, one beside and one within") {
  CHECK(area_of(clipped(plate, {{-2, 0}, {2, 0}, {2, -30}, {-2, -30}})) == Approx(4 * 10));
  const Ring half = clipped(plate, {{-30, -30}, {0, -30}, {0, 30}, {-30, 30}});
  CHECK(half.size() == 4);
  CHECK(area_of(half) == Approx(20 * 20));
  CHECK(clipped(plate, {{30, 0}, {40, 0}, {40, 5}}).empty());
  CHECK(area_of(clipped(plate, {{20, 0}, {40, 0}, {40, 5}, {20, 5}})) == Approx(0).margin(1e-12));
  CHECK(area_of(clipped(plate, {{0, 0}, {0, 1}, {1, 1}, {1, 0}})) == Approx(1));
  // Across both legs of a bent outline: two pieces.
  const Ring bent = {{0, 0}, {30, 0}, {30, 30}, {20, 30}, {20, 10}, {10, 10}, {10, 30}, {0, 30}};
  const Ring legs = clipped(bent, {{-5, 20}, {35, 20}, {35, 25}, {-5, 25}});
  CHECK(area_of(legs) == Approx(100));
  CHECK(inside_polygon(legs, {5, 22}));
  CHECK_FALSE(inside_polygon(legs, {15, 22}));
  CHECK(inside_polygon(legs, {25, 22}));
  CHECK(is_convex(plate));
  CHECK_FALSE(is_convex(bent));
}

TEST_CASE("clipped: a point lies in it exactly if it lies in both") {
  Sequence random(20261128);
  int inside = 0, outside = 0;
  const auto star = [&](int corners, double least, double most) {
    const Vec2 middle{random.between(-10, 10), random.between(-10, 10)};
    Ring ring;
    for (int k = 0; k < corners; ++k) {
      const double angle = 2 * pi * k / corners;
      ring.push_back(middle + random.between(least, most) * Vec2{std::cos(angle), std::sin(angle)});
    }
    return ring;
  };
  for (int i = 0; i < 300; ++i) {
    const Ring polygon = star(5 + i % 9, 4, 25);
    Ring convex = star(3 + i % 8, 12, 12.0001);
    REQUIRE(is_convex(convex));
    if (i % 2) std::reverse(convex.begin(), convex.end());
    const Ring both = clipped(polygon, convex);
    for (int k = 0; k < 200; ++k) {
      const Vec2 p{random.between(-25, 25), random.between(-25, 25)};
      const bool in = !both.empty() && inside_polygon(both, p);
      REQUIRE(in == (inside_polygon(polygon, p) && inside_polygon(convex, p)));
      ++(in ? inside : outside);
    }
  }
  CHECK(inside > 2000);
  CHECK(outside > 3000);
}
