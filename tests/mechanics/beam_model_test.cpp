#include "mechanics/beam_model.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "base/error.h"

using namespace bedwright;

namespace {

// Roark, table 8.1 / beam theory: E 2100 MPa, b 20, h 6, L 80 mm.
BeamModel bar() {
  BeamModel model;
  model.length_mm = 80;
  model.bend_nmm2 = 2100 * rectangle_moment_mm4(20, 6);
  model.mass_kg_m = 0.15;
  return model;
}

BeamSupport clamp(double x) {
  return {x, 0, -1};
}
BeamSupport pin(double x) {
  return {x, 0, 0};
}

}  // namespace

TEST_CASE("beam model: handbook cases", "[beam]") {
  CHECK(rectangle_moment_mm4(20, 6) == 360);
  BeamModel model = bar();
  SECTION("cantilever, end load") {
    model.supports = {clamp(0)};
    model.forces = {{80, 10, 0}};
    CHECK(sag_of(model).greatest_mm == Approx(2.257495591).epsilon(1e-6));
    CHECK(slope_at(sag_of(model), 80) == Approx(10 * 80 * 80 / (2 * model.bend_nmm2)).epsilon(1e-6));
  }
  SECTION("cantilever, uniform load") {
    model.supports = {clamp(0)};
    model.line_load_n_mm = 0.1;
    CHECK(sag_of(model).greatest_mm == Approx(0.6772486772).epsilon(1e-6));
  }
  SECTION("simply supported, centre load") {
    model.supports = {pin(0), pin(80)};
    model.forces = {{40, 10, 0}};
    CHECK(sag_of(model).greatest_mm == Approx(0.1410934744).epsilon(1e-6));
    CHECK(sag_of(model).support_n[0] == Approx(5).epsilon(1e-6));
  }
  SECTION("simply supported, uniform load") {
    model.supports = {pin(0), pin(80)};
    model.line_load_n_mm = 0.1;
    CHECK(sag_of(model).greatest_mm == Approx(0.07054673721).epsilon(1e-6));
  }
  SECTION("fixed at both ends, centre load") {
    model.supports = {clamp(0), clamp(80)};
    model.forces = {{40, 10, 0}};
    CHECK(sag_of(model).greatest_mm == Approx(0.03527336861).epsilon(1e-6));
  }
}

// Overhang c beyond a span l with the load at its tip: F c^2 (l + c) / (3 E I); beam theory.
TEST_CASE("beam model: an overhanging end between nodes", "[beam]") {
  BeamModel model = bar();
  model.supports = {pin(0), pin(53)};
  model.forces = {{80, 4, 0}};
  const BeamSag sag = sag_of(model);
  CHECK(sag.greatest_mm == Approx(4 * 27 * 27 * 80 / (3 * model.bend_nmm2)).epsilon(1e-6));
  // Lifts between the supports: F c x (l^2 - x^2) / (6 E I l).
  CHECK(deflection_at(sag, 31) ==
        Approx(-4 * 27 * 31 * (53 * 53 - 31 * 31) / (6 * model.bend_nmm2 * 53)).epsilon(1e-6));
  CHECK(sag.support_n[0] == Approx(-4.0 * 27 / 53).epsilon(1e-6));
}

// Springs in statics: a stiff beam on two springs; series and parallel springs (mechanics, closed form).
TEST_CASE("beam model: supports that give", "[beam]") {
  BeamModel model = bar();
  model.bend_nmm2 *= 1e6;
  model.supports = {{0, 20, 0}, {80, 60, 0}};
  model.forces = {{20, 8, 0}};
  const BeamSag sag = sag_of(model);
  CHECK(deflection_at(sag, 0) == Approx(6.0 / 20).epsilon(1e-4));
  CHECK(deflection_at(sag, 80) == Approx(2.0 / 60).epsilon(1e-3));
}

// Roots of the characteristic equations (Blevins): f = (beta L)^2 / (2 pi L^2) sqrt(E I / (rho A)).
TEST_CASE("beam model: natural frequencies", "[beam]") {
  BeamModel model = bar();
  const double unit = std::sqrt(model.bend_nmm2 / (model.mass_kg_m * 1e-6)) / (2 * 3.14159265358979323846 * 80 * 80);
  const auto roots = [&](int count) {
    std::vector<double> out = frequencies_of(model, count);
    for (double& f : out) f = std::sqrt(f / unit);
    return out;
  };
  const auto agree = [&](const std::vector<double>& wanted) {
    const std::vector<double> found = roots(3);
    REQUIRE(found.size() == 3);
    for (std::size_t i = 0; i < 3; ++i) CHECK(found[i] == Approx(wanted[i]).epsilon(1e-5));
  };
  model.supports = {clamp(0)};
  agree({1.875104069, 4.694091133, 7.854757438});
  model.supports = {};
  agree({4.730040745, 7.853204624, 10.99560784});
  model.supports = {pin(0), pin(80)};
  agree({3.141592654, 6.283185307, 9.424777961});
  model.supports = {clamp(0), pin(80)};
  agree({3.926602312, 7.068582746, 10.21017612});
}

TEST_CASE("beam model: bad beams are refused", "[beam]") {
  BeamModel model = bar();
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("nothing holds"));
  model.supports = {pin(81)};
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("off the beam"));
  model.supports = {pin(40)};
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("nothing holds"));
  model.length_mm = 0;
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("needs length"));
  BeamModel light = bar();
  light.supports = {pin(0), pin(80)};
  light.mass_kg_m = 0;
  CHECK_THROWS_WITH(frequencies_of(light, 1), "beam model: without mass there is no frequency");
}
