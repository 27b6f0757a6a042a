#include "mechanics/plate_model.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "base/error.h"
#include "mechanics/constants.h"

using namespace bedwright;

namespace {

std::vector<double> lines(double length, int cells) {
  std::vector<double> out;
  for (int i = 0; i <= cells; ++i) out.push_back(length * i / cells);
  return out;
}

PlateModel plate(double a, double b, int nx, int ny, const PlateLayer& layer) {
  PlateModel model;
  model.x_lines = lines(a, nx);
  model.y_lines = lines(b, ny);
  model.cells.assign(static_cast<std::size_t>(nx * ny), {layer});
  return model;
}

void hold_all(PlateModel& model, PlateEdge edge) {
  model.left = model.right = model.front = model.rear = edge;
}

double bend_stiffness(double e, double t, double nu) {
  return e * t * t * t / (12 * (1 - nu * nu));
}

/// lambda = omega a^2 sqrt(rho h / D), from Hz.
double lambda(double hertz, double a, const PlateLayer& layer) {
  const double t = layer.top_mm - layer.bottom_mm;
  return 2 * 3.14159265358979323846 * hertz * a * a *
         std::sqrt(layer.density_g_cm3 * 1e-9 * t / bend_stiffness(layer.modulus_mpa, t, layer.poisson));
}

const PlateLayer steel{-1, 1, 200000, 0.3, 7.85};

}  // namespace

// Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, table 8, nu = 0.3 (from memory); the Navier series gives
// one digit more.
TEST_CASE("plate model: simply supported plates under uniform load sag as the tables say", "[plate]") {
  struct Row {
    double ratio, series;
  };
  for (const Row& row : {Row{1.0, 0.004062}, Row{1.5, 0.007724}, Row{2.0, 0.010129}}) {
    PlateModel model = plate(200, 200 * row.ratio, 8, 8, steel);
    hold_all(model, PlateEdge::simply_supported);
    model.pressures = {{{0, 0}, {200, 200 * row.ratio}, 0.001}};
    const double d = bend_stiffness(200000, 2, 0.3);
    const PlateSag sag = sag_of(model);
    CHECK(sag.greatest_mm * d / (0.001 * std::pow(200, 4)) == Approx(row.series).margin(1e-6));
    CHECK(sag.where.x == 100);
  }
}

// 15 x 12 x 0.25 in, 100 psi, E 30e6, in inches and psi: past half the thickness, so that the formula itself is void.
// The table has 0.005651 and 0.006392 at ratios of 1.2 and 1.3; halfway, w = 0.00602 q b^4 / D.
TEST_CASE("plate model: a handbook case that leaves the range of small deflections is called so", "[plate]") {
  PlateModel model = plate(12, 15, 8, 8, {-0.125, 0.125, 30e6, 0.3, 0.28});
  hold_all(model, PlateEdge::simply_supported);
  model.pressures = {{{0, 0}, {12, 15}, 100}};
  const PlateSag sag = sag_of(model);
  CHECK(sag.greatest_mm == Approx(0.00602 * 100 * std::pow(12, 4) / bend_stiffness(30e6, 0.25, 0.3)).epsilon(2e-3));
  CHECK_FALSE(sag.small_deflection);
  model.pressures[0].mpa = 1;
  CHECK(sag_of(model).small_deflection);
}

// Timoshenko table 23 (from memory; series agrees): w = 0.0116 P a^2 / D.
TEST_CASE("plate model: a force in the middle of a simply supported plate", "[plate]") {
  PlateModel model = plate(100, 100, 16, 16, steel);
  hold_all(model, PlateEdge::simply_supported);
  model.forces = {{{50, 50}, 10}};
  CHECK(sag_of(model).greatest_mm * bend_stiffness(200000, 2, 0.3) / (10 * 1e4) == Approx(0.011601).epsilon(1e-3));
}

// Lee & Ballesteros 1960: 0.0255 in the middle, 0.0177 at mid-edge (from memory); a converged Ritz solution gives
// 0.025507 and 0.017747.
TEST_CASE("plate model: a plate on its four corners", "[plate]") {
  PlateModel model = plate(176, 176, 12, 12, steel);
  model.supports = {{{0, 0}, 0}, {{176, 0}, 0}, {{0, 176}, 0}, {{176, 176}, 0}};
  model.pressures = {{{0, 0}, {176, 176}, 0.001}};
  const PlateSag sag = sag_of(model);
  const double unit = 0.001 * std::pow(176, 4) / bend_stiffness(200000, 2, 0.3);
  CHECK(deflection_at(model, sag, {88, 88}) / unit == Approx(0.025507).epsilon(2e-4));
  CHECK(deflection_at(model, sag, {88, 0}) / unit == Approx(0.017747).epsilon(2e-4));
  CHECK(sag.support_n == Approx(0.001 * 176 * 176).epsilon(1e-6));
}

TEST_CASE("plate model: converges with the fourth power of the cell size", "[plate]") {
  // Uniform load on simple supports all round, against Navier's series.
  const double a = 100, q = 0.001, d = bend_stiffness(200000, 2, 0.3);
  double exact = 0;
  constexpr double pi = 3.14159265358979323846;
  for (int m = 1; m < 120; m += 2)
    for (int n = 1; n < 120; n += 2)
      exact += 16 * q * std::pow(a, 4) / (std::pow(pi, 6) * d * m * n * std::pow(m * m + n * n, 2)) *
               ((m / 2 + n / 2) % 2 == 0 ? 1 : -1);
  std::vector<double> error;
  for (const int n : {2, 4, 8}) {
    PlateModel model = plate(a, a, n, n, steel);
    hold_all(model, PlateEdge::simply_supported);
    model.pressures = {{{0, 0}, {a, a}, q}};
    error.push_back(std::abs(sag_of(model).greatest_mm / exact - 1));
  }
  CHECK(std::log2(error[0] / error[1]) > 3.5);
  CHECK(std::log2(error[1] / error[2]) > 3.5);
}

// Leissa 1973, nu = 0.3, with the converged Ritz values that lie 0.2-1 % under the published upper bounds.
TEST_CASE("plate model: natural frequencies of free, clamped and corner-supported plates", "[plate]") {
  PlateModel model = plate(100, 100, 8, 8, steel);
  const auto lambdas = [&](int count) {
    std::vector<double> out = frequencies_of(model, count);
    for (double& f : out) f = lambda(f, 100, steel);
    return out;
  };
  const std::vector<double> loose = lambdas(6), wanted = {13.4682, 19.5961, 24.2702, 34.8009, 34.8009, 61.0932};
  REQUIRE(loose.size() == 6);
  for (std::size_t i = 0; i < 6; ++i) CHECK(loose[i] == Approx(wanted[i]).epsilon(2e-3));
  model.left = PlateEdge::clamped;
  CHECK(lambdas(2)[0] == Approx(3.471).epsilon(2e-3));
  CHECK(lambdas(2)[1] == Approx(8.507).epsilon(2e-3));
  model.left = PlateEdge::free;
  hold_all(model, PlateEdge::simply_supported);
  CHECK(lambdas(1)[0] == Approx(19.739209).epsilon(1e-4));
  hold_all(model, PlateEdge::free);
  model.supports = {{{0, 0}, 0}, {{100, 0}, 0}, {{0, 100}, 0}, {{100, 100}, 0}};
  CHECK(lambdas(2)[0] == Approx(7.1109).epsilon(2e-3));
  CHECK(lambdas(2)[1] == Approx(15.7702).epsilon(2e-3));
}

// NAFEMS benchmark FV12: 10 x 10 x 0.05 m, E 200e9, nu 0.3, rho 8000, free.
TEST_CASE("plate model: benchmark FV12", "[plate]") {
  const PlateModel model = plate(10000, 10000, 8, 8, {-25, 25, 200000, 0.3, 8.0});
  const std::vector<double> hertz = frequencies_of(model, 8);
  const std::vector<double> published = {1.622, 2.360, 2.922, 4.190, 4.190, 7.356, 7.356, 7.668};
  REQUIRE(hertz.size() == published.size());
  for (std::size_t i = 0; i < hertz.size(); ++i) CHECK(hertz[i] == Approx(published[i]).epsilon(3e-3));
}

// Beam theory: F L^3 / (3 E I) with the I of the joined section about its own neutral axis.
TEST_CASE("plate model: a rib on one face stiffens as the joined section does", "[plate]") {
  const double l = 120, b = 8, e = 2000, h1 = 3, h2 = 9, f = 2;
  PlateModel model = plate(l, b, 12, 1, {0, h1, e, 0, 1});
  for (PlateCell& cell : model.cells) cell.push_back({-h2, 0, e, 0, 1});
  model.left = PlateEdge::clamped;
  model.forces = {{{l, b / 2}, f}};
  const double joined = b * std::pow(h1 + h2, 3) / 12;
  CHECK(sag_of(model).greatest_mm == Approx(f * l * l * l / (3 * e * joined)).epsilon(1e-3));

  // Two materials: the neutral axis moves to the stiffer one.
  for (PlateCell& cell : model.cells) cell[0].modulus_mpa = 5 * e;
  const double a1 = 5 * b * h1, a2 = b * h2, z = (a1 * h1 / 2 - a2 * h2 / 2) / (a1 + a2);
  const double i = 5 * b * std::pow(h1, 3) / 12 + a1 * std::pow(h1 / 2 - z, 2) + b * std::pow(h2, 3) / 12 +
                   a2 * std::pow(-h2 / 2 - z, 2);
  CHECK(sag_of(model).greatest_mm == Approx(f * l * l * l / (3 * e * i)).epsilon(1e-3));
}

TEST_CASE("plate model: where z = 0 lies does not matter", "[plate]") {
  PlateModel model = plate(150, 120, 6, 6, {-1, 1, 2000, 0.35, 1.07});
  model.supports = {{{10, 10}, 40}, {{140, 10}, 40}, {{10, 110}, 40}, {{140, 110}, 25}};
  model.own_weight = true;
  model.masses = {{{80, 70}, 900}};
  const PlateSag middle = sag_of(model);
  const std::vector<double> middle_hertz = frequencies_of(model, 3);
  for (PlateCell& cell : model.cells) cell[0] = {7, 9, 2000, 0.35, 1.07};
  const PlateSag high = sag_of(model);
  CHECK(high.greatest_mm == Approx(middle.greatest_mm).epsilon(1e-6));
  const std::vector<double> hertz = frequencies_of(model, 3);
  for (std::size_t i = 0; i < 3; ++i) CHECK(hertz[i] == Approx(middle_hertz[i]).epsilon(1e-5));
  CHECK(middle.support_n == Approx((plate_mass_g(model) + 900) * 1e-3 * standard_gravity).epsilon(1e-9));
}

// Statics of a stiff plate on four springs: F / sum k + F e x / sum k x^2 (mechanics, closed form).
TEST_CASE("plate model: a stiff plate on four springs", "[plate]") {
  PlateModel model = plate(170, 170, 2, 2, {-20, 20, 200000, 0.3, 7.85});
  model.supports = {{{0, 0}, 4}, {{170, 0}, 4}, {{0, 170}, 4}, {{170, 170}, 4}};
  model.forces = {{{145, 85}, 10}};
  const PlateSag sag = sag_of(model);
  CHECK(deflection_at(model, sag, {170, 85}) == Approx(1.066176471).epsilon(1e-4));
}

TEST_CASE("plate model: holes weaken, bad models are refused", "[plate]") {
  PlateModel model = plate(100, 100, 5, 5, steel);
  hold_all(model, PlateEdge::simply_supported);
  model.forces = {{{30, 30}, 10}};
  const double whole = sag_of(model).greatest_mm;
  model.cells[12].clear();
  CHECK(sag_of(model).greatest_mm > whole * 1.01);
  model.forces = {{{50, 50}, 10}};
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("in a hole"));
  model.forces = {{{101, 50}, 10}};
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("off the plate"));
  model.forces.clear();
  hold_all(model, PlateEdge::free);
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("nothing holds"));
  model.x_lines[1] = -1;
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("must rise"));
  model = plate(100, 100, 5, 5, {1, 1, 200000, 0.3, 1});
  CHECK_THROWS_WITH(sag_of(model), Catch::Contains("needs thickness"));
  model = plate(100, 100, 5, 5, steel);
  model.cells.pop_back();
  CHECK_THROWS_WITH(sag_of(model), "plate model: one cell for each rectangle of the grid is needed");
  model = plate(100, 100, 1, 1, steel);
  hold_all(model, PlateEdge::clamped);
  CHECK_THROWS_WITH(sag_of(model), "plate model: nothing is left to move");
  PlateLayer weightless = steel;
  weightless.density_g_cm3 = 0;
  model = plate(100, 100, 5, 5, weightless);
  hold_all(model, PlateEdge::simply_supported);
  CHECK_THROWS_WITH(frequencies_of(model, 1), "plate model: without density there is no frequency");
}

TEST_CASE("plate model: refining keeps the plate", "[plate]") {
  PlateModel model = plate(150, 120, 3, 2, steel);
  model.cells[1].push_back({-6, -1, 200000, 0.3, 7.85});
  hold_all(model, PlateEdge::simply_supported);
  model.forces = {{{75, 60}, 10}};
  const PlateModel fine = refined(model, 3);
  CHECK(fine.cells.size() == 54);
  CHECK(plate_mass_g(fine) == Approx(plate_mass_g(model)).epsilon(1e-12));
  CHECK(deflection_at(fine, sag_of(fine), {75, 60}) >= deflection_at(model, sag_of(model), {75, 60}));
}
