#include <catch2/catch.hpp>

#include "base/error.h"
#include "base/trig.h"
#include "survey/surface.h"

using namespace bedwright;

namespace {

FrameSettings domed(const std::string& shape, double rx, double ry = 0) {
  FrameSettings f;
  f.sheet_thickness_mm = 2;
  f.dome.shape = shape;
  f.dome.radius_mm = f.dome.radius_x_mm = rx;
  f.dome.radius_y_mm = ry;
  return f;
}

Surface sphere(double radius) {
  return make_underside(domed("sphere", radius), 0);
}

/// A fixed sequence of numbers in [0, 1): the same on every machine.
struct Sequence {
  unsigned long long state = 20261125;
  double next() {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<double>(state >> 11) / 9007199254740992.0;
  }
  Vec2 in_disc(double radius) {
    const double r = radius * std::sqrt(next()), a = 2 * pi * next();
    return {r * cos_rad(a), r * sin_rad(a)};
  }
};

std::vector<Surface> samples() {
  FrameSettings down = domed("two_radius", 1800, 3200);
  down.dome.crown_up = false;
  down.dome.apex_mm = {12, -7};
  FrameSettings ridge = domed("cylinder", 2400);
  ridge.dome.axis = "x";
  Surface tilted = make_underside(domed("two_radius", 900, 500), 5);
  tilted.slope = {0.01, -0.02};
  return {sphere(2600), make_underside(down, 7), make_underside(ridge, 3), tilted, make_underside(domed("flat", 0), 6)};
}

}  // namespace

TEST_CASE("survey: sagitta of a chord is that of elementary geometry") {
  // R = c^2 / (8 s) + s / 2, elementary geometry; the sagitta at half the chord must come back.
  const struct {
    double chord, sagitta, radius;
  } rows[] = {{200, 1, 5000.5}, {220, 2, 3026}, {240, 1.5, 4800.75}, {100, 0.05, 25000.025}, {300, 3, 3751.5}};
  for (const auto& row : rows) {
    CHECK(row.chord * row.chord / (8 * row.sagitta) + row.sagitta / 2 == Approx(row.radius).epsilon(1e-12));
    // Rounding only: a few ulps of the quotient.
    CHECK(sag_at(sphere(row.radius), {row.chord / 2, 0}) == Approx(row.sagitta).epsilon(1e-13));
    CHECK(sag_at(sphere(row.radius), {0, -row.chord / 2}) == Approx(row.sagitta).epsilon(1e-13));
  }
}

TEST_CASE("survey: no digits are lost at a radius of a kilometre") {
  // Series r^2/2R + r^4/8R^3: the next term is 1e-26 here. A difference R - sqrt(...) would be off by 1e-10.
  const double R = 1e6, r = 60;
  CHECK(sag_at(sphere(R), {r, 0}) == Approx(r * r / (2 * R) + r * r * r * r / (8 * R * R * R)).epsilon(1e-14));
}

TEST_CASE("survey: two radii that are equal make a sphere") {
  const Surface torus = make_underside(domed("two_radius", 2600, 2600), 0), ball = sphere(2600);
  Sequence random;
  for (int i = 0; i < 200; ++i) {
    const Vec2 p = random.in_disc(300);
    CHECK(sag_at(torus, p) == Approx(sag_at(ball, p)).margin(1e-12));
    CHECK(length(gradient_at(torus, p) - gradient_at(ball, p)) < 1e-14);
  }
}

TEST_CASE("survey: two radii give each its own section through the apex") {
  const Surface torus = make_underside(domed("two_radius", 1800, 3200), 0);
  for (double r : {20., 90., 140.}) {
    CHECK(sag_at(torus, {r, 0}) == Approx(sag_at(sphere(1800), {r, 0})).epsilon(1e-13));
    CHECK(sag_at(torus, {0, r}) == Approx(sag_at(sphere(3200), {0, r})).epsilon(1e-13));
  }
  // The stated formula itself, at a general point; 1e-10 is the rounding of differences of thousands.
  const double x = 70, y = -110, Rx = 1800, Ry = 3200;
  const double q = Rx - Ry + std::sqrt(Ry * Ry - y * y);
  CHECK(sag_at(torus, {x, y}) == Approx(Rx - std::sqrt(q * q - x * x)).margin(1e-10));
}

TEST_CASE("survey: the gradient is that of central differences, and the normal stands on it") {
  Sequence random;
  const double h = 1e-3;  // truncation h^2 z'''/6 < 1e-12, rounding 1e-15 / h
  for (const Surface& s : samples())
    for (int i = 0; i < 50; ++i) {
      const Vec2 p = random.in_disc(120);
      const Vec2 g = gradient_at(s, p);
      CHECK(g.x == Approx((height_at(s, p + Vec2{h, 0}) - height_at(s, p - Vec2{h, 0})) / (2 * h)).margin(1e-10));
      CHECK(g.y == Approx((height_at(s, p + Vec2{0, h}) - height_at(s, p - Vec2{0, h})) / (2 * h)).margin(1e-10));
      const Vec3 n = normal_at(s, p);
      CHECK(length(n) == Approx(1).epsilon(1e-14));
      CHECK(dot(n, Vec3{1, 0, g.x}) == Approx(0).margin(1e-15));
      CHECK(dot(n, Vec3{0, 1, g.y}) == Approx(0).margin(1e-15));
      CHECK(slope_at(s, p) == Approx(std::atan(length(g))).margin(1e-14));
    }
}

TEST_CASE("survey: crown up falls away from the apex, crown down rises") {
  FrameSettings f = domed("sphere", 2600);
  f.dome.apex_mm = {10, 20};
  CHECK(height_at(make_underside(f, 7), {10, 20}) == 7);
  CHECK(height_at(make_underside(f, 7), {110, 20}) < 7);
  f.dome.crown_up = false;
  CHECK(height_at(make_underside(f, 7), {110, 20}) > 7);
}

TEST_CASE("survey: a radius measured on the upper face is changed by the sheet's thickness") {
  for (const bool up : {true, false})
    for (const char* shape : {"sphere", "cylinder", "two_radius"}) {
      FrameSettings f = domed(shape, 2600, 1900);
      f.dome.crown_up = up;
      f.dome.measured_on_upper = true;
      const Surface s = make_underside(f, 0);
      CHECK(s.radius_x == (up ? 2598 : 2602));
      if (f.dome.shape == "two_radius") CHECK(s.radius_y == (up ? 1898 : 1902));
      // Parallel faces: from a point of the underside, thickness along the normal reaches the upper face's surface.
      f.dome.measured_on_upper = false;
      const Surface upper = [&] {
        Surface u = make_underside(f, 2);
        return u;
      }();
      const Vec2 p{80, -60};
      const Vec3 on = Vec3{p.x, p.y, height_at(s, p)} + 2.0 * normal_at(s, p);
      CHECK(height_at(upper, {on.x, on.y}) == Approx(on.z).margin(1e-11));
    }
}

TEST_CASE("survey: a cylinder is straight along its axis") {
  FrameSettings f = domed("cylinder", 2400);
  for (const char* axis : {"x", "y"}) {
    f.dome.axis = axis;
    const Surface s = make_underside(f, 0);
    const Vec2 along = f.dome.axis == "x" ? Vec2{1, 0} : Vec2{0, 1}, across{along.y, along.x};
    CHECK(sag_at(s, 150.0 * along) == 0);
    CHECK(sag_at(s, 150.0 * along + 90.0 * across) == Approx(sag_at(sphere(2400), {90, 0})).epsilon(1e-13));
  }
}

TEST_CASE("survey: the curvature bound is never exceeded and not idle") {
  Sequence random;
  const double h = 0.05, reach = 150;
  for (const Surface& s : samples()) {
    const double bound = curvature_bound(s, reach);
    double greatest = 0;
    for (int i = 0; i < 4000; ++i) {
      const Vec2 p = s.apex + random.in_disc(reach - h);
      const double a = 2 * pi * random.next();
      const Vec2 d{h * cos_rad(a), h * sin_rad(a)};
      const Vec2 change = gradient_at(s, p + d) - gradient_at(s, p - d);
      greatest = std::max(greatest, std::fabs(dot(change, d)) / (2 * h * h));
    }
    CHECK(greatest <= bound * (1 + 1e-9));
    if (s.shape != SurfaceShape::plane) CHECK(greatest > 0.8 * bound);
  }
}

TEST_CASE("survey: a surface moves with a shift, a turn and a mirror") {
  Transform mirror;
  mirror.m[0] = -1;
  Sequence random;
  const Transform motions[] = {shift({30, -20, 4}), quarter_turn(2, 1),
                               quarter_turn(2, 3),  mirror,
                               turn_about_z(0.7),   compose(shift({5, 6, -7}), compose(mirror, turn_about_z(2.1)))};
  for (const Surface& s : samples())
    for (const Transform& t : motions) {
      const Surface moved = transformed(s, t);
      for (int i = 0; i < 20; ++i) {
        const Vec2 p = random.in_disc(100);
        const Vec3 q = apply(t, {p.x, p.y, height_at(s, p)});
        CHECK(height_at(moved, {q.x, q.y}) == Approx(q.z).margin(1e-12));
      }
      const Surface back = transformed(moved, inverse(t));
      CHECK(length(back.apex - s.apex) < 1e-13);
      CHECK(back.height == Approx(s.height).margin(1e-13));
    }
}

TEST_CASE("survey: four quarter turns and two mirrors change nothing, to the bit") {
  Transform mirror;
  mirror.m[0] = -1;
  for (const Surface& s : samples()) {
    Surface turned = s, mirrored = transformed(transformed(s, mirror), mirror);
    for (int i = 0; i < 4; ++i) turned = transformed(turned, quarter_turn(2, 1));
    for (Vec2 p : {Vec2{13, 57}, Vec2{-80, 4}}) {
      CHECK(height_at(turned, p) == height_at(s, p));
      CHECK(height_at(mirrored, p) == height_at(s, p));
    }
  }
}

TEST_CASE("survey: beyond the reach of the radius there is no surface, and the message says so") {
  const Surface s = sphere(100);
  CHECK(sag_at(s, {89.9, 0}) > 0);
  CHECK_THROWS_AS(sag_at(s, {90.1, 0}), Error);
  CHECK_THROWS_AS(height_at(make_underside(domed("two_radius", 900, 100), 0), {0, 95}), Error);
}
