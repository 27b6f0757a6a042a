// Contours: what was drawn comes back from points on it, within what its noise allows, and never off by more than said.
#include "survey/contour.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <functional>

#include "base/error.h"
#include "base/trig.h"
#include "sequence.h"

using namespace bedwright;

namespace {

/// Points every `step` along a closed loop, each moved by up to `noise` either way in x and y.
std::vector<Vec2> traced(const Loop& loop, double step, double noise, Sequence& random) {
  const std::vector<Vec2> fine = polygonised(loop, 1e-5);
  std::vector<Vec2> points;
  double at = 0;
  for (std::size_t i = 0; i < fine.size(); ++i) {
    const Vec2 a = fine[i], b = fine[(i + 1) % fine.size()];
    const double whole = length(b - a);
    for (; at < whole; at += step)
      points.push_back(a + (at / whole) * (b - a) + Vec2{random.between(-noise, noise), random.between(-noise, noise)});
    at -= whole;
  }
  return points;
}

std::vector<double> radii(const Contour& c) {
  std::vector<double> r;
  for (const Curve& curve : c.curves)
    if (curve.arc) r.push_back(curve.radius);
  std::sort(r.begin(), r.end());
  return r;
}

void check_whole(const Contour& c, const std::vector<Vec2>& points, double tolerance) {
  double most = 0;
  for (Vec2 p : points) most = std::max(most, distance(c.curves, p));
  CHECK(most == Approx(c.deviation_mm).margin(1e-12));
  CHECK(most <= tolerance);
  for (std::size_t i = 0; i < c.curves.size(); ++i) {
    const Curve& a = c.curves[i];
    if (i + 1 < c.curves.size() || c.closed) CHECK(length(a.end - c.curves[(i + 1) % c.curves.size()].start) < 1e-9);
    if (!a.arc) continue;
    CHECK(length(a.start - a.centre) == Approx(a.radius).epsilon(1e-9));
    CHECK(length(a.end - a.centre) == Approx(a.radius).epsilon(1e-9));
  }
}

std::string refusal(const std::function<void()>& f) {
  try {
    f();
  } catch (const BadInput& e) {
    return e.what();
  }
  return "";
}

}  // namespace

TEST_CASE("contour: a rounded rectangle comes back with its radii", "[contour]") {
  INFO("seed " << seed);
  Sequence random;
  for (const double radius : {3.0, 8.0, 15.0})
    for (const double noise : {0.0, 0.02, 0.03}) {
      CAPTURE(radius, noise);
      const double tolerance = 0.1;
      const std::vector<Vec2> points = traced(rectangle_loop({5, 3}, {80, 50}, radius), 0.7, noise, random);
      const Contour c = lines_and_arcs(cleaned_outline(points, true), tolerance);
      check_whole(c, points, tolerance);
      REQUIRE(c.curves.size() == 8);
      CHECK(c.tangent_joints == 8);
      // A fillet's middle lies (sqrt 2 - 1) r from its corner. Lines and middle are known to the noise, averaged over
      // the points: better than half of it, together.
      const double allowed = 0.002 + noise / (std::sqrt(2.0) - 1);
      for (const double r : radii(c)) CHECK(r == Approx(radius).margin(allowed));
      const Loop loop = loop_of(c);
      CHECK(area(loop) == Approx(area(rectangle_loop({5, 3}, {80, 50}, radius))).margin(0.01 + 130 * noise));
      CHECK(contains(loop, {5, 3}));
    }
}

TEST_CASE("contour: the direction and the place where tracing began do not matter", "[contour]") {
  Sequence random;
  std::vector<Vec2> points = traced(rectangle_loop({0, 0}, {60, 40}, 6), 0.8, 0.01, random);
  const Contour one = lines_and_arcs(cleaned_outline(points, true), 0.08);
  std::rotate(points.begin(), points.begin() + 37, points.end());
  std::reverse(points.begin(), points.end());
  const Contour other = lines_and_arcs(cleaned_outline(points, true), 0.08);
  REQUIRE(one.curves.size() == 8);
  REQUIRE(other.curves.size() == 8);
  CHECK(area(loop_of(one)) > 0);
  CHECK(area(loop_of(other)) == Approx(area(loop_of(one))).margin(0.5));
  for (std::size_t k = 0; k < 4; ++k) CHECK(radii(one)[k] == Approx(radii(other)[k]).margin(0.05));
}

TEST_CASE("contour: an L keeps its sharp corners, an open profile its ends", "[contour]") {
  Sequence random;
  const std::vector<Vec2> corners = {{0, 0}, {40, 0}, {40, 12}, {14, 12}, {14, 50}, {0, 50}};
  const std::vector<Vec2> points = traced(polygon_loop(corners), 0.5, 0.01, random);
  const Contour c = lines_and_arcs(cleaned_outline(points, true), 0.05);
  check_whole(c, points, 0.05);
  REQUIRE(c.curves.size() == 6);
  for (const Vec2 corner : corners) {
    double least = 1e9;
    for (const Curve& curve : c.curves) least = std::min(least, length(curve.start - corner));
    CHECK(least < 0.015);  // two lines, each known to better than the noise of 0.01
  }
  // A quarter bend between two flanges, closed form.
  std::vector<Vec2> bend;
  for (int i = 0; i <= 40; ++i) bend.push_back({-20 + 0.5 * i, 0});
  for (int i = 1; i <= 30; ++i) bend.push_back({10 * sin_rad(i * pi / 60), 10 - 10 * cos_rad(i * pi / 60)});
  for (int i = 1; i <= 40; ++i) bend.push_back({10, 10 + 0.5 * i});
  const Contour open = lines_and_arcs(cleaned_outline(bend, false), 0.05);
  check_whole(open, bend, 0.05);
  REQUIRE(open.curves.size() == 3);
  CHECK_FALSE(open.closed);
  CHECK(open.curves[1].radius == Approx(10).margin(1e-3));
  CHECK(open.curves[1].ccw);
  CHECK(open.tangent_joints == 2);
  CHECK(open.curves.front().start == bend.front());
  CHECK(open.curves.back().end == bend.back());
  CHECK(refusal([&] { loop_of(open); }).find("all round") != std::string::npos);
}

TEST_CASE("contour: random profiles stay within the tolerance, whatever they are", "[contour]") {
  INFO("seed " << seed);
  Sequence random;
  for (int k = 0; k < 12; ++k) {
    std::vector<Vec2> points;
    const int n = 150 + 10 * k;
    const double a = random.between(0, 4), b = random.between(0, 6), noise = random.between(0, 0.03);
    for (int i = 0; i < n; ++i) {
      const double t = 2 * pi * i / n,
                   r = 40 + a * cos_rad(2 * t + 1) + b * sin_rad(3 * t) + random.between(-noise, noise);
      points.push_back({r * cos_rad(t), 0.7 * r * sin_rad(t)});
    }
    const double tolerance = random.between(0.04, 0.5);
    CAPTURE(k, n, noise, tolerance);
    const Contour c = lines_and_arcs(cleaned_outline(points, true), tolerance);
    check_whole(c, points, tolerance);
    CHECK(c.curves.size() < points.size() / 2);  // simplified
  }
}

TEST_CASE("contour: a strip thinner than the tolerance is no circle", "[contour]") {
  std::vector<Vec2> strip;
  for (int i = 0; i <= 40; ++i) strip.push_back({200 * sin_rad(i * 0.01), 200 * cos_rad(i * 0.01) + 0.03});
  for (int i = 40; i >= 0; --i) strip.push_back({200 * sin_rad(i * 0.01), 200 * cos_rad(i * 0.01) - 0.03});
  const Contour c = lines_and_arcs(cleaned_outline(strip, true), 0.1);
  for (const Curve& curve : c.curves) CHECK(length(curve.end - curve.start) < 90);
}

TEST_CASE("contour: points in any order are put in order, and cleaned", "[contour]") {
  Sequence random;
  std::vector<Vec2> points = traced(rectangle_loop({0, 0}, {30, 20}, 4), 0.5, 0, random);
  const std::size_t n = points.size();
  points.push_back(points[10]);  // a double
  for (std::size_t i = points.size(); i-- > 1;)
    std::swap(points[i], points[static_cast<std::size_t>(random.next() * static_cast<double>(i))]);
  const Outline o = ordered_outline(points, true);
  CHECK(o.points.size() == n);
  CHECK(o.dropped == 1);
  for (std::size_t i = 0; i < n; ++i) CHECK(length(o.points[(i + 1) % n] - o.points[i]) < 0.51);
  // A stray that the tip left on its way.
  std::vector<Vec2> stray = o.points;
  stray.insert(stray.begin() + 20, Vec2{40, 40});
  CHECK(cleaned_outline(stray, true).points.size() == n);
  // An open arc from its middle outward.
  std::vector<Vec2> arc;
  for (int i = 0; i < 60; ++i) arc.push_back({20 * cos_rad(i * pi / 80), 20 * sin_rad(i * pi / 80)});
  std::rotate(arc.begin(), arc.begin() + 25, arc.end());
  const Outline line = ordered_outline(arc, false);
  CHECK(line.points.size() == 60);
  CHECK(std::max(length(line.points.front() - line.points.back()), 0.0) > 30);
}

TEST_CASE("contour: a plane's cut through a mesh is where mesh and plane meet", "[contour]") {
  // A ball of triangles, cut off its middle: every point on the circle of the facets' chords; and an open shell.
  Mesh ball;
  const int rings = 40, sides = 80;
  const double R = 25;
  for (int j = 0; j <= rings; ++j)
    for (int i = 0; i < sides; ++i) {
      const double lat = pi * j / rings, lon = 2 * pi * i / sides;
      ball.vertices.push_back({R * sin_rad(lat) * cos_rad(lon), R * sin_rad(lat) * sin_rad(lon), R * cos_rad(lat)});
    }
  for (std::uint32_t j = 0; j < rings; ++j)
    for (std::uint32_t i = 0; i < sides; ++i) {
      const std::uint32_t a = j * sides + i, b = j * sides + (i + 1) % sides, c = a + sides, d = b + sides;
      ball.triangles.push_back({a, c, b});
      ball.triangles.push_back({b, c, d});
    }
  const auto cut = plane_section(ball, {0, 0, 7}, {1, 0, 0}, {0, 1, 0});
  REQUIRE(cut.size() == 1);
  CHECK(cut[0].closed);
  const double r = std::sqrt(R * R - 49);
  // Facets lie inside the ball by at most R (1 - cos) of half a step each way.
  const double inside = R * (1 - cos_rad(pi / sides)) + R * (1 - cos_rad(pi / rings / 2));
  for (Vec2 p : cut[0].points) {
    CHECK(length(p) < r + 1e-9);
    CHECK(length(p) > r - inside * R / r);
  }
  const Contour c = lines_and_arcs(cut[0], 0.1);
  // One circle, between the facets' corners and their middles.
  REQUIRE(c.curves.size() == 2);
  REQUIRE(loop_of(c).circle);
  CHECK(loop_of(c).radius == Approx(r - inside * R / r / 2).margin(inside * R / r / 2));
  CHECK(length(loop_of(c).centre) < 1e-6);
  // Half of the facets gone: an open chain.
  Mesh half = ball;
  half.triangles.erase(std::remove_if(half.triangles.begin(), half.triangles.end(),
                                      [&](const auto& t) { return ball.vertices[t[0]].x < 0; }),
                       half.triangles.end());
  const auto open = plane_section(half, {0, 0, 7}, {1, 0, 0}, {0, 1, 0});
  REQUIRE(open.size() == 1);
  CHECK_FALSE(open[0].closed);
  CHECK(open[0].points.size() > 70);
  CHECK(refusal([&] {
          plane_section(ball, {0, 0, 26}, {1, 0, 0}, {0, 1, 0});
        }).find("does not cut") != std::string::npos);
}

TEST_CASE("contour: bad input is answered in a sentence", "[contour]") {
  const std::vector<Vec2> two = {{0, 0}, {1, 0}};
  CHECK(refusal([&] { cleaned_outline(two, true); }).find("2 points") != std::string::npos);
  CHECK(refusal([&] {
          cleaned_outline({{1, 1}, {1, 1}, {1, 1}, {1, 1}}, true);
        }).find("one spot") != std::string::npos);
  CHECK(refusal([&] {
          cleaned_outline({{0, 0}, {std::sqrt(-1.0), 1}, {2, 0}}, true);
        }).find("finite") != std::string::npos);
  Outline eight;
  eight.closed = true;
  eight.points = {{0, 0}, {10, 0}, {10, 5}, {20, 5}, {20, 0.5}, {3, 3}, {0, 8}};
  CHECK(refusal([&] { lines_and_arcs(eight, 0.1); }).find("crosses itself") != std::string::npos);
  eight.points = {{0, 0}, {10, 0}, {10, 5}};
  CHECK(refusal([&] { lines_and_arcs(eight, 0); }).find("tolerance of 0 mm") != std::string::npos);
  std::vector<Vec2> gap;
  for (int i = 0; i < 30; ++i) gap.push_back({i < 15 ? 0.5 * i : 0.5 * i + 12, 0.0});
  CHECK(refusal([&] { ordered_outline(gap, false); }).find("a gap of 12.5 mm") != std::string::npos);
}

TEST_CASE("contour: two points close nothing, and what stands between the points that are followed counts",
          "[contour]") {
  CHECK_THROWS_WITH(lines_and_arcs({true, {{0, 0}, {10, 0}}, 0}, 0.1),
                    Catch::Contains("too few points for a contour (trace more of it)"));
  // So many points that only each second or third is followed; one in between stands out by 1 mm.
  Outline bar{false, {}, 0};
  for (int i = 0; i < 30000; ++i) bar.points.push_back({0.01 * i, i == 15001 ? 1.0 : 0.0});
  CHECK_THROWS_WITH(lines_and_arcs(bar, 0.1),
                    Catch::Contains("of the points stays within 0.1 mm of all of them (raise the tolerance"));
}
