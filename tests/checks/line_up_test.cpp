// Whether screws pass the holes of a part that may be shifted and turned: against closed forms and against another
// search.
#include "checks/line_up.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "parts/support.h"

using parts_test::Sequence;
using namespace bedwright;

TEST_CASE("line up: a shift of all screws is taken up whole, and a turn up to what the floats leave") {
  const std::vector<Vec2> holes = {{-30, -10}, {30, -10}, {0, 40}};
  const double turn = 0.02;
  std::vector<Fit> shifted, turned;
  for (const Vec2 h : holes) {
    shifted.push_back({h, h + Vec2{1.7, -0.9}, 0.05});
    turned.push_back(
        {h, {h.x * std::cos(turn) - h.y * std::sin(turn), h.x * std::sin(turn) + h.y * std::cos(turn)}, 0.05});
  }
  CHECK(lines_up(shifted));
  CHECK(lines_up_square(shifted));
  // To first order the farthest screw is off by 40 x 0.02^2 / 2 = 0.008 mm, less than its float.
  CHECK(lines_up(turned));
  CHECK_FALSE(lines_up_square(turned));
}

TEST_CASE("line up: two holes too near together take two screws exactly up to their floats") {
  for (const double over : {-0.01, 0.01}) {
    const std::vector<Fit> fits = {{{-20, 0}, {-20.1 - over / 2, 0}, 0.1}, {{20, 0}, {20.1 + over / 2, 0}, 0.1}};
    CHECK(lines_up(fits) == (over < 0));
  }
}

TEST_CASE("line up: a slot gives way along itself only") {
  const Fit round{{-20, 0}, {-20, 0}, 0.1};
  CHECK(lines_up({round, {{20, 0}, {20.9, 0}, 0.1, 2, {1, 0}}}));
  CHECK_FALSE(lines_up({round, {{20, 0}, {20.9, 0}, 0.1, 1, {1, 0}}}));
  CHECK_FALSE(lines_up({round, {{20, 0}, {20.9, 0}, 0.1, 2, {0, 1}}}));
}

TEST_CASE("line up: the answer is that of a search by thirds over shift and turn") {
  Sequence random(20261126);
  int yes = 0, no = 0;
  for (int i = 0; i < 1500; ++i) {
    std::vector<Fit> fits;
    // Small, so that its second order, by which a distance of two holes seems to grow, stays below what is left open.
    const double turn = random.between(-0.005, 0.005), apart = random.between(0, 0.5);
    const Vec2 shift{random.between(-2, 2), random.between(-2, 2)};
    for (int n = 2 + i % 5; n > 0; --n) {
      const Vec2 h{random.between(-60, 60), random.between(-60, 60)};
      const Vec2 off{random.between(-apart, apart), random.between(-apart, apart)};
      const double a = random.between(0, 3);
      fits.push_back({h,
                      h + shift + turn * Vec2{-h.y, h.x} + off,
                      random.between(0.05, 0.4),
                      i % 3 ? 0 : random.between(0, 1),
                      {std::cos(a), std::sin(a)}});
    }
    const double best = best_place(fits).off_mm;
    if (std::fabs(best) < 5e-3) continue;  // nearer than that search can tell
    INFO("case " << i << ", best " << best);
    CHECK(lines_up(fits) == (best < 0));
    ++(best < 0 ? yes : no);
  }
  CHECK(yes > 300);
  CHECK(no > 300);
}
