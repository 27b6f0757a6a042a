// What two polygons have in common: areas by hand, and points asked one by one.
#include "output/common_rings.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "base/loop.h"
#include "parts/support.h"
#include "solid/plan.h"

using parts_test::Sequence;
using namespace bedwright;

namespace {

using Ring = std::vector<Vec2>;

double area_of(const std::vector<Ring>& rings) {
  double sum = 0;
  for (const Ring& r : rings) sum += std::fabs(polygon_area(r));
  return sum;
}

const Ring plate = {{-20, -10}, {20, -10}, {20, 10}, {-20, 10}};

}  // namespace

TEST_CASE("common rings: of a slot that is open at a plate's edge, a cut that divides, one beside and one within") {
  CHECK(area_of(common_rings({{-2, 0}, {2, 0}, {2, -30}, {-2, -30}}, plate)) == Approx(4 * 10));
  const auto half = common_rings({{-30, -30}, {0, -30}, {0, 30}, {-30, 30}}, plate);
  REQUIRE(half.size() == 1);
  CHECK(half[0].size() == 4);
  CHECK(area_of(half) == Approx(20 * 20));
  CHECK(common_rings({{30, 0}, {40, 0}, {40, 5}}, plate).empty());
  CHECK(common_rings({{20, 0}, {40, 0}, {40, 5}, {20, 5}}, plate).empty());
  CHECK(area_of(common_rings({{0, 0}, {0, 1}, {1, 1}, {1, 0}}, plate)) == Approx(1));
  // A fork across one corner of a bent outline: two pieces.
  const Ring bent = {{0, 0}, {30, 0}, {30, 30}, {20, 30}, {20, 10}, {10, 10}, {10, 30}, {0, 30}};
  const auto prongs = common_rings({{-5, 20}, {35, 20}, {35, 25}, {-5, 25}}, bent);
  CHECK(prongs.size() == 2);
  CHECK(area_of(prongs) == Approx(100));
}

TEST_CASE("common rings: a point lies in the pieces exactly if it lies in both") {
  Sequence random(20261128);
  int inside = 0, outside = 0;
  for (int i = 0; i < 300; ++i) {
    Ring one, other;
    for (Ring* ring : {&one, &other}) {
      const Vec2 middle{random.between(-10, 10), random.between(-10, 10)};
      const int corners = 5 + i % 9;
      for (int k = 0; k < corners; ++k) {
        const double angle = 2 * 3.14159265358979 * k / corners, out = random.between(4, 25);
        ring->push_back(middle + out * Vec2{std::cos(angle), std::sin(angle)});
      }
    }
    const auto rings = common_rings(one, other);
    for (int k = 0; k < 200; ++k) {
      const Vec2 p{random.between(-30, 30), random.between(-30, 30)};
      bool in = false;
      for (const Ring& r : rings) in = in || inside_polygon(r, p);
      REQUIRE(in == (inside_polygon(one, p) && inside_polygon(other, p)));
      ++(in ? inside : outside);
    }
  }
  CHECK(inside > 3000);
  CHECK(outside > 3000);
}
