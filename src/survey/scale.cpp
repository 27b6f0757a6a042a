#include "survey/scale.h"

#include <Eigen/Dense>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "base/trig.h"
#include "survey/least_squares.h"

namespace bedwright {
namespace {

constexpr double most_error = 0.1;
// Columns of directions that differ by less than this (after scaling) do not part x from y.
constexpr double distinct = 0.1;

std::string unit_of(double ratio) {
  const struct {
    double ratio;
    const char* words;
  } units[] = {{25.4, "the scan is in inches: add --units in"},
               {10, "the scan is in centimetres: add --units cm"},
               {1000, "the scan is in metres: add --units m"},
               {304.8, "the scan is in feet: add --units ft"},
               {1 / 25.4, "the known length was given in inches; it is wanted in mm"},
               {0.1, "the known length was given in centimetres; it is wanted in mm"},
               {0.001, "the known length was given in metres; it is wanted in mm"}};
  for (const auto& u : units)
    if (std::fabs(ratio / u.ratio - 1) < 0.05) return u.words;
  return "check the two points and the length";
}

LinearFit solve(const std::vector<KnownLength>& known, double u, int unknowns) {
  const auto n = static_cast<Eigen::Index>(known.size());
  Eigen::MatrixXd a(n, unknowns);
  Eigen::VectorXd y(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const KnownLength& k = known[static_cast<std::size_t>(i)];
    const Vec3 d = k.b - k.a;
    // D^2 = E dx^2 + 2 F dx dy + G dy^2 + (E + G) / 2 dz^2; an error of u in D is one of 2 D u in its square.
    const double w = 1 / (2 * k.mm * u), z2 = d.z * d.z / 2;
    const double e = d.x * d.x + z2, g = d.y * d.y + z2;
    if (unknowns == 1) {
      a(i, 0) = w * (e + g);
    } else {
      a(i, 0) = w * e;
      a(i, 1) = w * g;
      if (unknowns == 3) a(i, 2) = w * 2 * d.x * d.y;
    }
    y(i) = w * k.mm * k.mm;
  }
  return linear_least_squares(a, y, distinct);
}

}  // namespace

ScaleFix scale_from(const std::vector<KnownLength>& known, double u) {
  std::vector<Problem> problems;
  for (std::size_t i = 0; i < known.size(); ++i) {
    const std::string what = "--known " + std::to_string(i + 1);
    const double found = length(known[i].b - known[i].a);
    if (!(known[i].mm > 0)) {
      problems.push_back({what, shortest(known[i].mm), "the true distance must be more than 0", ""});
    } else if (!(found > 0)) {
      problems.push_back({what, "", "its two points are the same", "write X1,Y1,Z1,X2,Y2,Z2,D"});
    } else if (std::fabs(known[i].mm / found - 1) > most_error) {
      problems.push_back({what, shortest(known[i].mm),
                          "the scan has " + decimal(found, 3) + " mm where " + decimal(known[i].mm, 3) + " mm are true",
                          unit_of(known[i].mm / found)});
    }
  }
  if (!problems.empty()) throw BadInput("known lengths", problems);
  ScaleFix fix;
  if (known.empty()) return fix;
  int unknowns = 3;
  LinearFit fit = solve(known, u, 3);
  for (; !fit.ok && unknowns > 1;) fit = solve(known, u, --unknowns);
  const double e = fit.coefficients(0), g = unknowns > 1 ? fit.coefficients(1) : e,
               f = unknowns > 2 ? fit.coefficients(2) : 0;
  if (!(e > 0) || !(e * g - f * f > 0))
    throw BadInput("known lengths", {{"", "", "the known lengths contradict each other", "measure them again"}});
  fix.both_axes = unknowns > 1;
  fix.skew_known = unknowns > 2;
  fix.x = std::sqrt(e);
  fix.y = std::sqrt(g);
  fix.z = std::sqrt((e + g) / 2);
  fix.xx = fix.x;
  fix.xy = f / fix.x;
  fix.yy = std::sqrt(g - fix.xy * fix.xy);
  fix.skew_deg = atan2_rad(fix.xy, fix.yy) / rad_per_deg;
  fix.x_u = std::sqrt(fit.cofactor(0, 0)) / (2 * fix.x);
  fix.y_u = unknowns > 1 ? std::sqrt(fit.cofactor(1, 1)) / (2 * fix.y) : fix.x_u;
  for (const KnownLength& k : known)
    fix.worst_mm = std::max(fix.worst_mm, std::fabs(length(apply(fix, k.b) - apply(fix, k.a)) - k.mm));
  return fix;
}

Vec3 apply(const ScaleFix& fix, Vec3 p) {
  return {fix.xx * p.x + fix.xy * p.y, fix.yy * p.y, fix.z * p.z};
}

}  // namespace bedwright
