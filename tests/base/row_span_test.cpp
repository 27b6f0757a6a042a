// The stretch of a row that a triangle covers: against the triangle's own three edges, asked cell by cell.
#include "base/row_span.h"

#include <catch2/catch.hpp>

#include "parts/support.h"

using parts_test::Sequence;
using namespace bedwright;

namespace {

bool has(const std::array<Vec2, 3>& t, Vec2 p) {
  const double turn = cross(t[1] - t[0], t[2] - t[0]);
  for (std::size_t k = 0; k < 3; ++k)
    if (turn * cross(t[(k + 1) % 3] - t[k], p - t[k]) < 0) return false;
  return true;
}

}  // namespace

TEST_CASE("row span: of a right-angled triangle", "[row_span]") {
  const std::array<Vec2, 3> t = {Vec2{0, 0}, Vec2{8, 0}, Vec2{0, 4}};
  const RowSpan half = row_span(t, 2);
  CHECK(half.low == Approx(0).margin(1e-12));
  CHECK(half.high == Approx(4));
  const RowSpan foot = row_span(t, 0);
  CHECK(foot.low == 0);
  CHECK(foot.high == 8);
  for (const double beside : {-0.01, 4.01}) {
    const RowSpan none = row_span(t, beside);
    CHECK(none.low > none.high);
  }
}

TEST_CASE("row span: no cell of a triangle lies outside it, and it is no wider than the triangle", "[row_span]") {
  Sequence random(20261128);
  int inside = 0;
  for (int i = 0; i < 4000; ++i) {
    std::array<Vec2, 3> t;
    for (Vec2& p : t) p = {random.between(0, 60), random.between(0, 60)};
    if (i % 4 == 0) t[1].y = t[0].y + (i % 8 ? random.between(-1e-6, 1e-6) : 0.0);  // along a row
    if (i % 4 == 1) t[2] = t[0] + 0.5 * (t[1] - t[0]) + Vec2{0, random.between(-0.3, 0.3)};  // thin
    if (i % 4 == 2) t[0].y = t[1].y = 20.5;
    for (int row = 0; row < 60; row += 1 + i % 3) {
      const double y = row + 0.5;
      const RowSpan span = row_span(t, y);
      for (int column = 0; column < 60; ++column) {
        const double x = column + 0.5;
        if (!has(t, {x, y})) continue;
        ++inside;
        REQUIRE(span.low <= x + 1e-6);
        REQUIRE(span.high >= x - 1e-6);
      }
      if (span.low > span.high) continue;
      REQUIRE(span.low >= std::min({t[0].x, t[1].x, t[2].x}) - 1e-9);
      REQUIRE(span.high <= std::max({t[0].x, t[1].x, t[2].x}) + 1e-9);
    }
  }
  CHECK(inside > 100000);
}
