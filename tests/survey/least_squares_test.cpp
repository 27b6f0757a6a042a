// Certified and published least-squares results, named beside each.
#include "survey/least_squares.h"

#include <catch2/catch.hpp>

#include "kit/csv.h"
#include "survey/distribution.h"
#include "survey/geometric_fit.h"

using namespace bedwright;

namespace {

/// Columns of a certified set as its model has them.
void model_of(const std::string& set, Eigen::MatrixXd& a, Eigen::VectorXd& y) {
  std::vector<CsvRow> rows;
  for (const CsvRow& row : read_reference("nist_strd_data"))
    if (row.at("dataset") == set) rows.push_back(row);
  REQUIRE(rows.size() > 2);
  const auto n = static_cast<Eigen::Index>(rows.size());
  const bool through_origin = set == "NoInt1" || set == "NoInt2";
  const int powers = set == "Pontius" ? 2 : set == "Wampler1" ? 5 : 1;
  const int columns = set == "Longley" ? 7 : through_origin ? 1 : powers + 1;
  a.resize(n, columns);
  y.resize(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const CsvRow& row = rows[static_cast<std::size_t>(i)];
    y(i) = std::stod(row.at("y"));
    if (set == "Longley") {
      a(i, 0) = 1;
      for (int k = 1; k < 7; ++k) a(i, k) = std::stod(row.at("x" + std::to_string(k)));
      continue;
    }
    const double x = std::stod(row.at("x1"));
    for (int k = 0; k < columns; ++k) a(i, k) = through_origin ? x : std::pow(x, k);
  }
}

/// Digits that agree (the institute's own measure, log relative error).
double digits(double found, double certified) {
  const double off = certified == 0 ? std::fabs(found) : std::fabs(found / certified - 1);
  return off > 0 ? -std::log10(off) : 16;
}

}  // namespace

TEST_CASE("least squares: certified regression sets", "[survey][reference]") {
  // NIST StRD linear regression. Longley's columns are nearly dependent: double keeps 7 digits and more of it.
  const struct {
    const char* set;
    double digits;
  } sets[] = {{"Norris", 9}, {"Pontius", 9}, {"NoInt1", 12}, {"NoInt2", 12}, {"Longley", 9}, {"Wampler1", 8}};
  const auto certified = read_reference("nist_strd_certified");
  REQUIRE(certified.size() > 15);
  for (const auto& s : sets) {
    CAPTURE(s.set);
    Eigen::MatrixXd a;
    Eigen::VectorXd y;
    model_of(s.set, a, y);
    const LinearFit fit = linear_least_squares(a, y, 1e-15);
    REQUIRE(fit.ok);
    Eigen::Index k = 0;
    for (const CsvRow& row : certified) {
      if (row.at("dataset") != s.set) continue;
      CAPTURE(row.at("parameter"), fit.coefficients(k));
      CHECK(digits(fit.coefficients(k), std::stod(row.at("certified_estimate"))) >= s.digits);
      const double sd = std::stod(row.at("certified_sd_of_estimate"));
      // Wampler1 is exact: its certified deviations are zero.
      if (sd > 0) CHECK(digits(fit.standard_errors(k), sd) >= s.digits);
      if (sd > 0) CHECK(digits(fit.residual_sd, std::stod(row.at("certified_residual_sd"))) >= s.digits);
      ++k;
    }
    CHECK(k == a.cols());
  }
}

TEST_CASE("least squares: a plane through published data", "[survey][reference]") {
  const auto rows = read_reference("plane_trees_data");
  REQUIRE(rows.size() == 31);
  Eigen::MatrixXd a(31, 3);
  Eigen::VectorXd y(31);
  std::vector<WeightedPoint> points;
  for (Eigen::Index i = 0; i < 31; ++i) {
    const CsvRow& row = rows[static_cast<std::size_t>(i)];
    const double x = std::stod(row.at("girth_x")), h = std::stod(row.at("height_y"));
    a.row(i) << 1, x, h;
    y(i) = std::stod(row.at("volume_z"));
    points.push_back({{x, h, y(i)}, 1});
  }
  std::map<std::string, double> expected;
  for (const CsvRow& row : read_reference("plane_trees_results"))
    expected[row.at("fit") + " " + row.at("parameter")] = std::stod(row.at("computed"));
  const LinearFit fit = linear_least_squares(a, y);
  CHECK(fit.coefficients(0) == Approx(expected.at("vertical_plane b0")).epsilon(1e-12));
  CHECK(fit.coefficients(1) == Approx(expected.at("vertical_plane b1_girth")).epsilon(1e-12));
  CHECK(fit.coefficients(2) == Approx(expected.at("vertical_plane b2_height")).epsilon(1e-12));
  CHECK(fit.residual_sd == Approx(expected.at("vertical_plane residual_sd")).epsilon(1e-12));
  // The orthogonal plane of the same points (computed in 50 digits, no published value).
  const GeometricFit plane = fit_flat(points, {13, 76, 30}, 10);
  REQUIRE(plane.ok);
  const double size = std::sqrt(1 + plane.model.lean_x * plane.model.lean_x + plane.model.lean_y * plane.model.lean_y);
  CHECK(plane.model.lean_x / size == Approx(expected.at("orthogonal_plane normal_x")).epsilon(1e-10));
  CHECK(plane.model.lean_y / size == Approx(expected.at("orthogonal_plane normal_y")).epsilon(1e-10));
  CHECK(plane.residual_sum == Approx(expected.at("orthogonal_plane sum_sq_orthogonal")).epsilon(1e-11));
}

TEST_CASE("least squares: dependent columns and too few rows are refused", "[survey]") {
  Eigen::MatrixXd a(3, 2);
  a << 1, 2, 2, 4, 3, 6;
  CHECK_FALSE(linear_least_squares(a, Eigen::Vector3d(1, 2, 3)).ok);
  CHECK_FALSE(linear_least_squares(Eigen::MatrixXd::Ones(1, 2), Eigen::VectorXd::Ones(1)).ok);
  CHECK_FALSE(linear_least_squares(Eigen::MatrixXd::Zero(3, 1), Eigen::VectorXd::Ones(3)).ok);
}

TEST_CASE("circle: geometric fits of the literature", "[survey][reference]") {
  int held = 0;
  for (const CsvRow& row : read_reference("circle_results")) {
    if (row.at("method") != "geometric") continue;
    std::vector<Vec2> points;
    for (const CsvRow& p : read_reference("circle_data"))
      if (p.at("dataset") == row.at("dataset")) points.push_back({std::stod(p.at("x")), std::stod(p.at("y"))});
    CAPTURE(row.at("dataset"));
    const CircleFit fit = fit_circle(points);
    REQUIRE(fit.ok);
    // The published figures to their last printed place; the same recomputed in 50 digits to what double can.
    CHECK(fit.centre.x == Approx(std::stod(row.at("xc_computed"))).epsilon(1e-9));
    CHECK(fit.centre.y == Approx(std::stod(row.at("yc_computed"))).epsilon(1e-9));
    CHECK(fit.radius == Approx(std::stod(row.at("r_computed"))).epsilon(1e-9));
    CHECK(fit.residual_sum == Approx(std::stod(row.at("sum_sq_computed"))).epsilon(1e-9));
    // 1e-4: five places of 9.88760, whose authors' solver stopped there.
    if (!row.at("r_published").empty()) CHECK(fit.radius == Approx(std::stod(row.at("r_published"))).margin(1e-4));
    ++held;
  }
  CHECK(held == 6);
  CHECK_FALSE(fit_circle({{0, 0}, {1, 1}, {2, 2}}).ok);
  CHECK_FALSE(fit_circle({{0, 0}, {1, 1}}).ok);
}

TEST_CASE("sphere and plane: constructed sets whose fit is exact", "[survey]") {
  // Constructed, not published: residuals orthogonal to the derivatives, so that the Gaussian fit is known exactly.
  const auto points_of = [](const std::string& set) {
    std::vector<WeightedPoint> points;
    for (const CsvRow& row : read_reference("constructed_points"))
      if (row.at("dataset") == set)
        points.push_back({{std::stod(row.at("x")), std::stod(row.at("y")), std::stod(row.at("z"))}, 1});
    return points;
  };
  const auto dome = points_of("dome_cap_exact");
  REQUIRE(dome.size() == 25);
  const GeometricFit sphere = fit_sphere(dome, {0, 0, 0}, 100);
  REQUIRE(sphere.ok);
  // Coordinates are printed to 1e-10 or so; a cap of 2.6 degrees half angle magnifies that about 2000 times in R.
  CHECK(1 / sphere.model.curvature == Approx(3026).epsilon(1e-8));
  CHECK(sphere_top(sphere.model).centre.z == Approx(-3026).epsilon(1e-8));
  const auto saddle = points_of("plane_saddle");
  REQUIRE(saddle.size() == 25);
  const GeometricFit plane = fit_flat(saddle, {10, -20, 5}, 60);
  REQUIRE(plane.ok);
  CHECK(plane.model.lean_x == Approx(0.48 / 0.6).epsilon(1e-9));
  CHECK(plane.model.lean_y == Approx(-0.64 / 0.6).epsilon(1e-9));
  CHECK(plane.residual_sum == Approx(0.35).epsilon(1e-9));
}

TEST_CASE("distributions: printed tables", "[survey]") {
  // Student's t, two-sided 5 %: tables of every statistics handbook (from memory), to their three decimals.
  const double t[][2] = {{1, 12.706}, {2, 4.303}, {3, 3.182}, {5, 2.571}, {10, 2.228}, {30, 2.042}, {120, 1.980}};
  for (const auto& row : t) CHECK(student_quantile(0.05, row[0]) == Approx(row[1]).margin(5e-4));
  CHECK(normal_quantile(0.05) == Approx(1.959963984540054).epsilon(1e-12));
  CHECK(student_quantile(0.05, 1e9) == Approx(1.959963984540054).epsilon(1e-12));
  // F upper 5 % points 4.96 (1, 10) and 3.33 (5, 10); chi-squared 5 %: 3.841 (1), 11.070 (5), 18.307 (10).
  CHECK(f_upper_tail(4.9646, 1, 10) == Approx(0.05).epsilon(1e-4));
  CHECK(f_upper_tail(3.3258, 5, 10) == Approx(0.05).epsilon(1e-4));
  CHECK(chi_squared_upper_tail(3.8415, 1) == Approx(0.05).epsilon(1e-4));
  CHECK(chi_squared_upper_tail(11.0705, 5) == Approx(0.05).epsilon(1e-4));
  CHECK(chi_squared_upper_tail(18.3070, 10) == Approx(0.05).epsilon(1e-4));
  // One degree of freedom: F of (1, k) is the square of Student's t.
  for (double k : {1.0, 4.0, 40.0, 1e6})
    CHECK(f_upper_tail(2.5 * 2.5, 1, k) == Approx(student_two_tails(2.5, k)).epsilon(1e-9));
  // Closed form for two degrees of freedom: P(|T| > t) = 1 - t / sqrt(2 + t^2); P(chi2 > c) = exp(-c / 2).
  CHECK(student_two_tails(1.7, 2) == Approx(1 - 1.7 / std::sqrt(2 + 1.7 * 1.7)).epsilon(1e-12));
  CHECK(chi_squared_upper_tail(7, 2) == Approx(std::exp(-3.5)).epsilon(1e-12));
  CHECK(f_upper_tail(0, 3, 9) == 1);
}
