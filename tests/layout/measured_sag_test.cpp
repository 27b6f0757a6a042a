// Extremes of a measured surface over areas, against many samples and against the ball's closed form.
#include "layout/measured_sag.h"

#include <catch2/catch.hpp>

#include "base/trig.h"
#include "layout/bench_kit.h"

using namespace bedwright;

namespace {

Surface sheet(double (*f)(double, double)) {
  FrameSettings frame;
  frame.dome.shape = "measured";
  for (int j = 0; j <= 20; ++j)
    for (int i = 0; i <= 24; ++i)
      frame.dome.points_mm.push_back({10.0 * i - 120, 10.0 * j - 100, f(10.0 * i - 120, 10.0 * j - 100)});
  return make_underside(frame, 0);
}

SagRange sampled(const Surface& s, const Loop& loop) {
  SagRange r{1e300, -1e300};
  const auto take = [&](Vec2 p) {
    const double sag = sag_at(s, p);
    r = {std::min(r.least, sag), std::max(r.greatest, sag)};
  };
  const std::vector<Vec2> edge = polygonised(loop, 1e-6);
  for (std::size_t i = 0; i < edge.size(); ++i) {
    const Vec2 a = edge[i], d = edge[(i + 1) % edge.size()] - a;
    const int n = 1 + static_cast<int>(length(d) / 0.2);
    for (int k = 0; k < n; ++k) take(a + (static_cast<double>(k) / n) * d);
  }
  const PlaneBox box = bounding_box(loop);
  for (int i = 0; i <= 300; ++i)
    for (int j = 0; j <= 300; ++j) {
      const Vec2 p{box.low.x + (box.high.x - box.low.x) * i / 300, box.low.y + (box.high.y - box.low.y) * j / 300};
      if (contains(loop, p)) take(p);
    }
  return r;
}

}  // namespace

TEST_CASE("measured sag: extremes inside, on edges and at corners are found", "[measured]") {
  const Surface sheets[] = {
      sheet([](double x, double y) { return -(x * x + y * y) / 5200 + 0.2 * sin_rad(x / 15) * cos_rad(y / 18); }),
      sheet([](double x, double y) { return x * y / 4000; }),
      sheet([](double, double y) { return -y * y / 4000; }),  // a ridge: stationary all along a line
      sheet([](double, double) { return 4.0; }),
  };
  std::vector<Loop> loops;
  for (const Vec2 at : {Vec2{0, 0}, Vec2{-75, -45}, Vec2{60, 30}}) {
    loops.push_back(rectangle_loop(at, {58, 64}, 5));
    loops.push_back(circle_loop(at, 9, Facets::inside));
    loops.push_back(circle_loop(at, 2.1, Facets::outside));
    loops.push_back(slot_loop(at, 3, 5, {0.6, 0.8}, Facets::outside));
    loops.push_back(hull_of_circles({at, at + Vec2{30, 8}, at + Vec2{-4, 22}}, {8, 5, 11}));
  }
  for (const Surface& s : sheets)
    for (const Loop& loop : loops) {
      const SagRange found = sag_over(s, {loop}), seen = sampled(s, loop);
      // Nothing seen lies outside; and what was found is there: the samples are at most 0.15 mm apart on curvature
      // below 0.0012, so they miss an extreme by 0.0012 * 0.15^2 / 2 inside, and little more along the edge.
      CHECK(seen.least >= found.least - measured_sag_tolerance_mm);
      CHECK(seen.greatest <= found.greatest + measured_sag_tolerance_mm);
      CHECK(found.least >= seen.least - 5e-5 - measured_sag_tolerance_mm);
      CHECK(found.greatest <= seen.greatest + 5e-5 + measured_sag_tolerance_mm);
    }
}

TEST_CASE("measured sag: over several areas it is that of the worst", "[measured]") {
  const Surface s = sheet([](double x, double y) { return -(x * x + y * y) / 5200; });
  const Loop a = circle_loop({0, 0}, 10, Facets::inside), b = circle_loop({60, 0}, 10, Facets::inside);
  CHECK(sag_over(s, {a}).least == Approx(0).margin(2e-5));
  CHECK(sag_over(s, {a, b}).least == Approx(0).margin(2e-5));
  CHECK(sag_over(s, {a, b}).greatest == Approx(4900.0 / 5200).margin(2e-5));
  CHECK(sag_over(s, {b}).least == Approx(2500.0 / 5200).margin(2e-5));
}
