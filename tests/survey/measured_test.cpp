// The smooth surface through measured heights: against surfaces that are known, and against what a spline must be.
#include <catch2/catch.hpp>

#include "base/error.h"
#include "base/trig.h"
#include "sequence.h"
#include "base/banded.h"
#include "survey/measured_fit.h"
#include "survey/surface.h"

using namespace bedwright;

namespace {

double ball(double R, double x, double y) {
  return -(x * x + y * y) / (R + std::sqrt(R * R - x * x - y * y));
}

template <typename F>
std::vector<Vec3> grid(int nx, int ny, Vec2 half, const F& f) {
  std::vector<Vec3> points;
  for (int j = 0; j < ny; ++j)
    for (int i = 0; i < nx; ++i) {
      const double x = half.x * (2.0 * i / (nx - 1) - 1), y = half.y * (2.0 * j / (ny - 1) - 1);
      points.push_back({x, y, f(x, y)});
    }
  return points;
}

FrameSettings measured(const std::vector<Vec3>& points, bool upper = false) {
  FrameSettings f;
  f.sheet_thickness_mm = 2;
  f.dome.shape = "measured";
  f.dome.points_mm = points;
  f.dome.measured_on_upper = upper;
  return f;
}

template <typename F>
double farthest(const MeasuredShape& s, Vec2 half, const F& f) {
  double most = 0;
  for (int i = -40; i <= 40; ++i)
    for (int j = -40; j <= 40; ++j) {
      const Vec2 p{half.x * i / 40, half.y * j / 40};
      most = std::max(most, std::fabs(height_on(s, p) - f(p.x, p.y)));
    }
  return most;
}

std::string refusal(const std::vector<Vec3>& points) {
  try {
    fit_measured(points);
  } catch (const BadInput& e) {
    return e.what();
  }
  return "";
}

/// A sheet that a person could have: dome, twist, one wave.
struct Sheet {
  double kx, ky, twist, wave, lx, ly, px, py, tilt_x, tilt_y;
  explicit Sheet(Sequence& r)
      : kx(r.between(-1, 1) / 2000),
        ky(r.between(-1, 1) / 2000),
        twist(r.between(-1, 1) / 8000),
        wave(r.between(0, 0.25)),
        lx(r.between(25, 45)),
        ly(r.between(25, 45)),
        px(r.between(0, 6)),
        py(r.between(0, 6)),
        tilt_x(r.between(-3e-3, 3e-3)),
        tilt_y(r.between(-3e-3, 3e-3)) {}
  double operator()(double x, double y) const {
    return kx * x * x / 2 + ky * y * y / 2 + twist * x * y + tilt_x * x + tilt_y * y +
           wave * sin_rad(x / lx + px) * cos_rad(y / ly + py);
  }
};

}  // namespace

TEST_CASE("measured: the band's factor, solution and inverse are those of the whole matrix", "[measured]") {
  Sequence random;
  const std::size_t n = 12, width = 3;
  Band m(n, width);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = i > width ? i - width : 0; j <= i; ++j) m.at(i, j) = i == j ? 8 : random.between(-1, 1);
  Band l = m;
  REQUIRE(factor(l));
  const Band z = inverse_in_band(l);
  for (std::size_t k = 0; k < n; ++k) {
    std::vector<double> e(n, 0.0);
    e[k] = 1;
    solve(l, e);  // column k of the inverse
    for (std::size_t i = 0; i < n; ++i) {
      double back = 0;
      for (std::size_t j = 0; j < n; ++j)
        if ((i > j ? i - j : j - i) <= width) back += m.symmetric(i, j) * e[j];
      CHECK(back == Approx(i == k ? 1.0 : 0.0).margin(1e-14));
      if (i >= k && i - k <= width) CHECK(z.at(i, k) == Approx(e[i]).margin(1e-15));
    }
  }
  m.at(5, 5) = -1;
  CHECK_FALSE(factor(m));
}

TEST_CASE("measured: a quadric comes back exactly, from few points and from many, beyond them too", "[measured]") {
  const auto f = [](double x, double y) {
    return 12 + 0.002 * x - 0.001 * y - x * x / 5200 + x * y / 9000 + y * y / 8000;
  };
  for (const int n : {3, 4, 7, 20}) {
    CAPTURE(n);
    const auto shape = fit_measured(grid(n, n, {110, 90}, f));
    // Rounding of heights of 12 mm through a system of condition 1e6.
    CHECK(farthest(*shape, {135, 110}, f) < 1e-8);
    CHECK(shape->outliers.empty());
    CHECK(shape->origin_z == Approx(12).margin(1e-9));
    CHECK(curvature_bound(*shape, {}, 100) == Approx(1.0 / 2600 + 1.0 / 9000).epsilon(1e-4));
  }
}

TEST_CASE("measured: a sampled ball is the ball to well below what a printer shows", "[measured]") {
  const double R = 2600;
  const auto f = [&](double x, double y) { return ball(R, x, y); };
  // The interpolant's error falls with the sixth power of the step; each bound is a step of the ladder.
  const struct {
    int n;
    double inside, beyond;
  } rows[] = {{3, 1e-3, 3e-3}, {5, 2e-4, 1e-3}, {9, 3e-5, 4e-4}, {15, 1e-5, 2e-4}};
  for (const auto& row : rows) {
    CAPTURE(row.n);
    const auto shape = fit_measured(grid(row.n, row.n, {110, 90}, f));
    CHECK(farthest(*shape, {110, 90}, f) < row.inside);
    CHECK(farthest(*shape, {125, 105}, f) < row.beyond);
    // The ball's greatest second derivative over the disc: R^2 / (R^2 - r^2)^(3/2).
    const double root = std::sqrt(R * R - 125.0 * 125);
    CHECK(curvature_bound(*shape, {}, 125) < 1.02 * R * R / (root * root * root));
  }
}

TEST_CASE("measured: noise is taken for noise", "[measured]") {
  Sequence random;
  for (const double sigma : {0.01, 0.03}) {
    const auto dome = [](double x, double y) { return ball(3000, x, y); };
    double rms = 0, noise = 0;
    const int sets = 12;
    for (int k = 0; k < sets; ++k) {
      const auto points =
          grid(12, 10, {110, 90}, [&](double x, double y) { return dome(x, y) + sigma * random.normal(); });
      const auto shape = fit_measured(points);
      double sum = 0;
      for (const Vec3& p : points) sum += std::pow(height_on(*shape, {p.x, p.y}) - dome(p.x, p.y), 2);
      rms += std::sqrt(sum / static_cast<double>(points.size())) / sets;
      noise += shape->noise_mm / sets;
      CHECK(shape->outliers.empty());
    }
    CAPTURE(sigma, rms, noise);
    // A quadric alone would have sigma sqrt(6 / 120) = 0.22 sigma; cross-validation now and then adds a few values.
    CHECK(rms < 0.35 * sigma);
    CHECK(noise == Approx(sigma).epsilon(0.12));  // of 12 sets of 120 readings: 3 % and what was overfitted
  }
}

TEST_CASE("measured: waves are followed where the readings show them", "[measured]") {
  const auto f = [](double x, double y) { return ball(2600, x, y) + 0.3 * sin_rad(x / 16) * cos_rad(y / 20); };
  // A grid of 15 mm on waves of 100 and 126 mm: measured 0.0071 at the rim, 0.0024 inside; bounds with half in hand.
  const auto coarse = fit_measured(grid(15, 13, {110, 90}, f));
  CHECK(farthest(*coarse, {110, 90}, f) < 0.012);
  CHECK(farthest(*coarse, {95, 75}, f) < 0.004);
  const auto fine = fit_measured(grid(40, 40, {110, 90}, f));
  CHECK(farthest(*fine, {110, 90}, f) < 0.0005);
  // Continued by its quadric, 10 mm out along X and Y: within the bound that is stated, and that grows as the cube.
  double off = 0;
  for (int k = -16; k <= 16; ++k) {
    off = std::max(off, std::fabs(height_on(*fine, {120, 5.0 * k}) - f(120, 5.0 * k)));
    off = std::max(off, std::fabs(height_on(*fine, {-120, 5.0 * k}) - f(-120, 5.0 * k)));
  }
  CHECK(off < continuation_bound_mm(*fine, 10));
  CHECK(off > 0.1 * continuation_bound_mm(*fine, 10));
  CHECK(continuation_bound_mm(*fine, 20) == Approx(8 * continuation_bound_mm(*fine, 10)));
}

TEST_CASE("measured: a few wrong readings are found, named and left out", "[measured]") {
  Sequence random;
  const auto f = [](double x, double y) { return ball(2600, x, y) + 0.1 * sin_rad(x / 30); };
  const auto clean = grid(13, 11, {120, 100}, [&](double x, double y) { return f(x, y) + 0.008 * random.normal(); });
  auto wrong = clean;
  const std::vector<std::size_t> at = {17, 70, 99};
  const double by[] = {0.4, -0.8, 2.5};
  for (std::size_t k = 0; k < at.size(); ++k) wrong[at[k]].z += by[k];
  const auto shape = fit_measured(wrong), truth = fit_measured(clean);
  REQUIRE(shape->outliers.size() == 3);
  for (std::size_t k = 0; k < at.size(); ++k) {
    CHECK(shape->outliers[k].index == at[k]);
    CHECK(shape->outliers[k].off_mm == Approx(by[k]).margin(0.04));  // 4 sigma of one reading and the surface's own
  }
  CHECK(truth->outliers.empty());
  CHECK(farthest(*shape, {120, 100}, [&](double x, double y) { return height_on(*truth, {x, y}); }) < 0.03);
  CHECK(shape->points == wrong.size());
}

TEST_CASE("measured: what tells no surface is refused with what to do", "[measured]") {
  const auto flat = [](double, double) { return 0.0; };
  CHECK(refusal(grid(4, 2, {100, 80}, flat)).find("3 by 3") != std::string::npos);
  CHECK(refusal(grid(30, 2, {100, 80}, flat)).find("corners and the middle") != std::string::npos);
  std::vector<Vec3> line, circle, cross_of_two;
  for (int i = 0; i < 24; ++i) {
    line.push_back({10.0 * i, 5.0 * i, 0});
    circle.push_back({100 * cos_rad(i * pi / 12), 100 * sin_rad(i * pi / 12), 0});
    cross_of_two.push_back(i % 2 ? Vec3{10.0 * (i - 12), 0, 0} : Vec3{0, 10.0 * (i - 12), 0});
  }
  for (const auto& points : {line, circle, cross_of_two})
    CHECK(refusal(points).find("on a line, on two, or on one circle") != std::string::npos);
  auto broken = grid(5, 5, {100, 80}, flat);
  broken[3].z = std::sqrt(-1.0);
  CHECK(refusal(broken).find("finite") != std::string::npos);
  CHECK(refusal(std::vector<Vec3>(most_measured_points + 1)).find("thin the scan out") != std::string::npos);
}

TEST_CASE("measured: random sheets obey their own calculus", "[measured]") {
  INFO("seed " << seed);
  Sequence random;
  for (int k = 0; k < 24; ++k) {
    CAPTURE(k);
    const Sheet sheet(random);
    const auto shape = fit_measured(grid(9 + k % 7, 8 + k % 5, {120, 100}, sheet));
    const double bound = curvature_bound(*shape, {}, 170), h = 1e-3;
    double most = 0;
    for (int i = 0; i < 60; ++i) {
      // Inside, outside, and across the rim.
      const Vec2 p{random.between(-135, 135), random.between(-112, 112)};
      const SpotOnShape s = spot_on(*shape, p);
      CHECK(s.z == height_on(*shape, p));
      const double gx = (height_on(*shape, p + Vec2{h, 0}) - height_on(*shape, p - Vec2{h, 0})) / (2 * h);
      const double gy = (height_on(*shape, p + Vec2{0, h}) - height_on(*shape, p - Vec2{0, h})) / (2 * h);
      // Central difference: h^2 / 6 of the third derivative, and rounding of 1e-15 / h.
      CHECK(s.gradient.x == Approx(gx).margin(2e-9));
      CHECK(s.gradient.y == Approx(gy).margin(2e-9));
      const double middle = (s.xx + s.yy) / 2, half = std::sqrt(std::pow((s.xx - s.yy) / 2, 2) + s.xy * s.xy);
      most = std::max({most, std::fabs(middle + half), std::fabs(middle - half)});
    }
    CHECK(most <= bound * (1 + 1e-12));
    CHECK(bound < 4 * most);  // a bound that nothing comes near would cost facets for nothing
  }
}

TEST_CASE("measured: the surface is once and twice smooth across its cells and its rim", "[measured]") {
  Sequence random;
  const Sheet sheet(random);
  const auto s = fit_measured(grid(11, 9, {120, 100}, sheet));
  const double step = 240.0 / s->cells_x, e = 1e-7;
  for (int c = 0; c <= s->cells_x; ++c) {
    const double x = -120 + c * step;
    const SpotOnShape a = spot_on(*s, {x - e, 13}), b = spot_on(*s, {x + e, 13});
    CHECK(a.z == Approx(b.z).margin(1e-8));
    CHECK(a.gradient.x == Approx(b.gradient.x).margin(1e-8));
    CHECK(a.xx == Approx(b.xx).margin(1e-8));
    CHECK(a.xy == Approx(b.xy).margin(1e-8));
  }
  // Beyond where it means something it goes straight on, and never stops.
  const double x = 120 + s->beyond_mm;
  const SpotOnShape a = spot_on(*s, {x - e, 13}), b = spot_on(*s, {x + e, 13});
  CHECK(a.gradient.x == Approx(b.gradient.x).margin(1e-8));
  CHECK(b.xx == 0);
  CHECK(std::isfinite(height_on(*s, {5000, -4000})));
}

TEST_CASE("measured: distance beyond the data is that from their hull", "[measured]") {
  const auto s = fit_measured(grid(5, 5, {100, 80}, [](double x, double) { return x * 1e-3; }));
  CHECK(s->hull.size() == 4);
  CHECK(beyond_data(*s, {0, 0}) == 0);
  CHECK(beyond_data(*s, {99.9, -79.9}) == 0);
  CHECK(beyond_data(*s, {112, 0}) == Approx(12));
  CHECK(beyond_data(*s, {103, 84}) == Approx(5));
  CHECK(s->tilt.x == Approx(1e-3));
  CHECK(s->beyond_mm == Approx(24));  // 0.15 of 160
}

TEST_CASE("measured: turned, mirrored and shifted like any other surface", "[measured]") {
  Sequence random;
  const Surface s = make_underside(measured(grid(11, 9, {120, 100}, Sheet(random))), 7);
  REQUIRE(s.shape == SurfaceShape::measured);
  CHECK(sag_at(s, {}) == 0);
  CHECK(height_at(s, {}) == 7);
  Transform mirror;
  mirror.m[0] = -1;
  for (const Transform& t :
       {shift({75, -45, 1.5}), compose(shift({-3, 8, 0}), quarter_turn(2, 3)), mirror, turn_about_z(0.3)}) {
    const Surface moved = transformed(s, t);
    CHECK(moved.measured == s.measured);  // shared, not copied
    for (int i = 0; i < 40; ++i) {
      const Vec2 p{random.between(-110, 110), random.between(-90, 90)};
      const Vec3 there = apply(t, {p.x, p.y, height_at(s, p)});
      CHECK(height_at(moved, {there.x, there.y}) == Approx(there.z).margin(1e-10));
      const Vec3 n = turn(t, normal_at(s, p)), m = normal_at(moved, {there.x, there.y});
      CHECK(length(n - m) < 1e-12);
    }
  }
}

TEST_CASE("measured: points of the upper face give the face a thickness below, along the normal", "[measured]") {
  // The upper face of a sheet of 2 mm on a ball of R is a ball of R + 2; its sides are steep enough to tell the normal
  // from the vertical: at 110 mm of 400 that is 0.08 mm.
  for (const double R : {400.0, 2600.0}) {
    const auto upper = [&](double x, double y) { return ball(R + 2, x, y) + 2; };
    const Surface s = make_underside(measured(grid(15, 15, {110, 90}, upper), true), 0);
    double most = 0;
    for (int i = -20; i <= 20; ++i)
      for (int j = -20; j <= 20; ++j) {
        const Vec2 p{5.0 * i, 4.0 * j};
        most = std::max(most, std::fabs(height_at(s, p) - ball(R, p.x, p.y)));
      }
    CAPTURE(R, most);
    CHECK(most < (R < 1000 ? 2e-3 : 1e-4));
  }
}

TEST_CASE("measured: the same points in another order give the same surface to rounding", "[measured]") {
  Sequence random;
  auto points = grid(9, 9, {120, 100}, Sheet(random));
  const auto one = fit_measured(points);
  for (std::size_t i = points.size(); i-- > 1;)
    std::swap(points[i], points[static_cast<std::size_t>(random.next() * static_cast<double>(i))]);
  const auto other = fit_measured(points);
  // Rounding, through a system whose weakest penalty is a millionth of the data.
  CHECK(farthest(*one, {120, 100}, [&](double x, double y) { return height_on(*other, {x, y}); }) < 1e-7);
}
