#include "base/lattice.h"

#include <catch2/catch.hpp>
#include <random>

using namespace bedwright;

namespace {
constexpr unsigned seed = 416;

bool exact_in_float(double v) { return static_cast<double>(static_cast<float>(v)) == v; }
}  // namespace

TEST_CASE("a snapped coordinate is at most half a step away and on the lattice", "[base][lattice]") {
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  for (double extent : {10.0, 254.9, 1000.0}) {
    const Lattice lattice = lattice_for(extent);
    std::uniform_real_distribution<double> coordinate(-extent, extent);
    for (int i = 0; i < 20000; ++i) {
      const double v = coordinate(random), s = snap(v, lattice);
      REQUIRE(std::fabs(s - v) <= lattice.step_mm / 2);
      REQUIRE(std::floor(s / lattice.step_mm) == s / lattice.step_mm);
      REQUIRE(snap(s, lattice) == s);
    }
  }
}

TEST_CASE("a snapped coordinate is exact in float32 over the whole extent", "[base][lattice]") {
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  for (double extent : {254.999, largest_coordinate_mm}) {
    const Lattice lattice = lattice_for(extent);
    REQUIRE(exact_in_float(snap(extent, lattice)));
    REQUIRE(exact_in_float(snap(-extent, lattice)));
    std::uniform_real_distribution<double> coordinate(-extent, extent);
    for (int i = 0; i < 20000; ++i) REQUIRE(exact_in_float(snap(coordinate(random), lattice)));
  }
}

TEST_CASE("a finer lattice would not be exact, so the choice is the finest", "[base][lattice]") {
  // 24 bits of mantissa (IEEE 754 binary32): half a step next to the limit is lost.
  CHECK_FALSE(exact_in_float(254.0 + lattice_for(254).step_mm / 2));
  CHECK_FALSE(exact_in_float(1023.0 + lattice_for(1023).step_mm / 2));
}

TEST_CASE("the step changes where float32 would lose bits", "[base][lattice]") {
  CHECK(lattice_for(0).step_mm == 1.0 / 65536);
  CHECK(lattice_for(254.99).step_mm == 1.0 / 65536);
  CHECK(lattice_for(255).step_mm == 1.0 / 16384);
}

TEST_CASE("snapping never yields a negative zero", "[base][lattice]") {
  CHECK_FALSE(std::signbit(snap(-0.0)));
  CHECK_FALSE(std::signbit(snap(-1e-9)));
}

TEST_CASE("points snap coordinate by coordinate", "[base][lattice]") {
  const Lattice coarse{0.25};
  CHECK(snap(Vec2{0.3, -0.3}, coarse) == Vec2{0.25, -0.25});
  CHECK(snap(Vec3{0.9, 1.1, -0.2}, coarse) == Vec3{1, 1, -0.25});
}
