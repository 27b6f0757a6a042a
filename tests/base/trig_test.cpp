#include "base/trig.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

using namespace bedwright;

// Second method: the C library in extended precision (64 bits of mantissa), whose own error is below 1e-18 here.
namespace {
constexpr unsigned seed = 20240229;

double off(double ours, long double truth) { return static_cast<double>(std::fabs(ours - truth)); }
}  // namespace

TEST_CASE("sine and cosine stay within trig_error up to 1e4 rad", "[base][trig]") {
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> magnitude(-12, 4);  // log-uniform, so that small angles are drawn too
  double worst_sin = 0, worst_cos = 0;
  for (int i = 0; i < 200000; ++i) {
    const double x = (i % 2 ? -1 : 1) * std::pow(10.0, magnitude(random));
    worst_sin = std::max(worst_sin, off(sin_rad(x), std::sin(static_cast<long double>(x))));
    worst_cos = std::max(worst_cos, off(cos_rad(x), std::cos(static_cast<long double>(x))));
  }
  CHECK(worst_sin <= trig_error);
  CHECK(worst_cos <= trig_error);
}

TEST_CASE("sine and cosine stay within trig_error next to every quarter turn", "[base][trig]") {
  for (int quarter = -6366; quarter <= 6366; ++quarter)  // 6366 * pi / 2 is the last below 1e4
    for (double nudge : {-1e-7, 0.0, 1e-7}) {
      const double x = quarter * (pi / 2) + nudge;
      REQUIRE(off(sin_rad(x), std::sin(static_cast<long double>(x))) <= trig_error);
      REQUIRE(off(cos_rad(x), std::cos(static_cast<long double>(x))) <= trig_error);
    }
}

TEST_CASE("sine and cosine hold up to 1e6 rad", "[base][trig]") {
  for (double x : {99999.5, -123456.789, 1e6, -1e6}) {
    CHECK(off(sin_rad(x), std::sin(static_cast<long double>(x))) <= trig_error);
    CHECK(off(cos_rad(x), std::cos(static_cast<long double>(x))) <= trig_error);
  }
}

TEST_CASE("sine and cosine give the closed forms of 0, 30, 45, 60 and 90 degrees", "[base][trig]") {
  CHECK(sin_rad(0) == 0);
  CHECK(cos_rad(0) == 1);
  CHECK(off(sin_rad(30 * rad_per_deg), 0.5L) <= trig_error);
  CHECK(off(cos_rad(60 * rad_per_deg), 0.5L) <= trig_error);
  CHECK(off(sin_rad(45 * rad_per_deg), std::sqrt(0.5L)) <= trig_error);
  CHECK(off(cos_rad(30 * rad_per_deg), std::sqrt(0.75L)) <= trig_error);
  CHECK(off(cos_rad(pi / 2), 0.0L) <= trig_error);
  CHECK(off(sin_rad(pi), 0.0L) <= trig_error);
}

TEST_CASE("sine is odd and cosine even, to the bit", "[base][trig]") {
  for (int i = 1; i < 2000; ++i) {
    const double x = 0.0137 * i;
    REQUIRE(sin_rad(-x) == -sin_rad(x));
    REQUIRE(cos_rad(-x) == cos_rad(x));
  }
}

TEST_CASE("arctangent stays within trig_error all round", "[base][trig]") {
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> coordinate(-1, 1), magnitude(-9, 0);
  double worst = 0;
  for (int i = 0; i < 200000; ++i) {
    const double y = coordinate(random) * std::pow(10.0, magnitude(random)), x = coordinate(random);
    worst = std::max(worst, off(atan2_rad(y, x), std::atan2(static_cast<long double>(y), static_cast<long double>(x))));
  }
  CHECK(worst <= trig_error);
}

TEST_CASE("arctangent names each quadrant and keeps above -pi and up to pi", "[base][trig]") {
  CHECK(atan2_rad(0, 0) == 0);
  CHECK(atan2_rad(0, 1) == 0);
  CHECK(atan2_rad(0, -1) == pi);
  CHECK(atan2_rad(-0.0, -1) == pi);
  CHECK(off(atan2_rad(1, 0), static_cast<long double>(pi) / 2) <= trig_error);
  CHECK(off(atan2_rad(-1, 0), -static_cast<long double>(pi) / 2) <= trig_error);
  CHECK(off(atan2_rad(1, 1), static_cast<long double>(pi) / 4) <= trig_error);
  CHECK(off(atan2_rad(1, -1), 3 * static_cast<long double>(pi) / 4) <= trig_error);
  CHECK(off(atan2_rad(-1, -1), -3 * static_cast<long double>(pi) / 4) <= trig_error);
}

TEST_CASE("arc cosine stays within trig_error and clamps beyond its range", "[base][trig]") {
  for (int i = -1000; i <= 1000; ++i) {
    const double c = i / 1000.0;
    REQUIRE(off(acos_rad(c), std::acos(static_cast<long double>(c))) <= trig_error);
  }
  CHECK(acos_rad(1.0000001) == 0);
  CHECK(acos_rad(-1.0000001) == pi);
}
