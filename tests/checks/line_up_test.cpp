// Whether screws pass the holes of a part that may be shifted and turned: against closed forms and against another
// search.
#include "checks/line_up.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "parts/support.h"

using parts_test::Sequence;
using namespace bedwright;

namespace {

double worst_off(const std::vector<Fit>& fits, Vec2 shift, double turn) {
  double most = -1e9;
  for (const Fit& f : fits) {
    const Vec2 d = f.screw - (f.hole + shift + turn * Vec2{-f.hole.y, f.hole.x});
    const double beyond = std::max(std::fabs(dot(d, f.along)) - f.extra_mm / 2, 0.0);
    most = std::max(most, std::hypot(beyond, cross(f.along, d)) - f.float_mm);
  }
  return most;
}

template <typename F>
double least_by_thirds(double low, double high, const F& value) {
  for (int i = 0; i < 30; ++i) {
    const double a = low + (high - low) / 3, b = high - (high - low) / 3;
    if (value(a) < value(b))
      high = b;
    else
      low = a;
  }
  return value((low + high) / 2);
}

/// How the worst screw is off at best: a convex function of three numbers, sought by thirds in each.
double least_by_thirds(const std::vector<Fit>& fits, double reach) {
  return least_by_thirds(-0.1, 0.1, [&](double turn) {
    return least_by_thirds(-reach, reach, [&](double x) {
      return least_by_thirds(-reach, reach, [&](double y) { return worst_off(fits, {x, y}, turn); });
    });
  });
}

}  // namespace

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
  for (int i = 0; i < 60; ++i) {
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
    const BestPlace best = best_place(fits);
    const double least = least_by_thirds(fits, 12);
    INFO("case " << i << ", least " << least);
    CHECK(best.off_mm == Approx(least).margin(1.2e-3));
    CHECK(best.off_mm == Approx(worst_off(fits, best.shift, best.turn_rad)).margin(1e-9));
    CHECK(off_by(fits) >= best.off_mm);
    if (std::fabs(least) < 5e-4) continue;  // nearer than that search can tell
    CHECK(lines_up(fits) == (least < 0));
    ++(least < 0 ? yes : no);
  }
  CHECK(yes > 10);
  CHECK(no > 10);
}

TEST_CASE("line up: without a turn the answer is that of a grid search, finer where it is best") {
  Sequence random(20261127);
  int yes = 0, no = 0;
  for (int i = 0; i < 600; ++i) {
    std::vector<Fit> fits;
    const double apart = random.between(0, 0.5);
    const Vec2 shift{random.between(-1, 1), random.between(-1, 1)};
    for (int n = 2 + i % 5; n > 0; --n) {
      const Vec2 h{random.between(-60, 60), random.between(-60, 60)};
      const Vec2 off{random.between(-apart, apart), random.between(-apart, apart)};
      const double a = random.between(0, 3);
      fits.push_back({h, h + shift + off, random.between(0.05, 0.4), i % 3 ? 0 : random.between(0, 1), {std::cos(a), std::sin(a)}});
    }
    const auto worst = [&](Vec2 by) { return worst_off(fits, by, 0); };
    // Convex, so the best of a grid has the least within a step of it; each round three times finer.
    Vec2 middle{};
    double half = 4;
    for (int round = 0; round < 9; ++round, half /= 3) {
      Vec2 best = middle;
      for (int x = -6; x <= 6; ++x)
        for (int y = -6; y <= 6; ++y)
          if (const Vec2 p = middle + (half / 6) * Vec2{double(x), double(y)}; worst(p) < worst(best)) best = p;
      middle = best;
    }
    if (std::fabs(worst(middle)) < 2e-3) continue;  // nearer than that search can tell
    INFO("case " << i << ", best " << worst(middle));
    CHECK(lines_up_square(fits) == (worst(middle) < 0));
    ++(worst(middle) < 0 ? yes : no);
  }
  CHECK(yes > 100);
  CHECK(no > 100);
}
