#include "print/calibrate.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "survey/distribution.h"
#include "survey/least_squares.h"

namespace bedwright {
namespace {

using Kind = CouponSize::Kind;

// A reading is doubtful where its residual, judged by all the others, would come up once in a hundred coupons, and is
// more than a caliper errs by (common practice, no source).
constexpr double doubtful_share = 0.01, caliper_errs_mm = 0.03;
// Below this a compensation is no more than what calipers disagree by.
constexpr double least_twice_mm = 0.05, twice_slack_mm = 0.02;
// Columns that differ by less than this are one: hole offset and scale from holes of one size.
constexpr double rank_limit = 1e-6;

struct Unknown {
  const char* name;
  std::optional<CouponEstimate>* result;
  double sign;  ///< of the result against the offset
};

bool in_plan(const CouponReading& r) {
  return r.size.kind != Kind::height;
}

/// The row of the design matrix for the unknowns hole, outline, x, y.
std::array<double, 4> plan_row(const CouponSize& s, bool x, bool y) {
  std::array<double, 4> row{};
  switch (s.kind) {
    case Kind::hole:
    case Kind::spacing_far:
      row[0] = 1;
      break;
    case Kind::spacing_near:
      row[0] = -1;
      break;
    default:
      row[1] = 1;
  }
  const double both = x && y ? 0.5 : 1;  // a mean of two ways sees the mean of two scales
  if (x && s.axis != 'y') row[2] = s.length_mm * (s.axis == 0 ? both : 1);
  if (y && s.axis != 'x') row[3] = s.length_mm * (s.axis == 0 ? both : 1);
  return row;
}

void solve(const std::vector<std::size_t>& rows, const std::vector<Unknown>& unknowns, const Eigen::MatrixXd& design,
           const std::string& source, const std::string& cure, Calibration& c, double& rms, int& freedom) {
  const auto n = static_cast<Eigen::Index>(rows.size());
  Eigen::VectorXd y(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const CouponReading& r = c.readings[rows[static_cast<std::size_t>(i)]].reading;
    y(i) = r.found_mm - r.size.modelled_mm;
  }
  const LinearFit fit = linear_least_squares(design, y, rank_limit);
  if (!fit.ok) {
    std::string names;
    for (std::size_t k = 0; k < unknowns.size(); ++k)
      names += (k == 0 ? "" : k + 1 == unknowns.size() ? " and " : ", ") + std::string(unknowns[k].name);
    throw BadInput(source, {{"", "", "these readings cannot tell " + names + " apart", cure}});
  }
  freedom = fit.freedom;
  rms = std::sqrt(fit.residual_sum / static_cast<double>(n));
  for (std::size_t k = 0; k < unknowns.size(); ++k) {
    const auto column = static_cast<Eigen::Index>(k);
    const auto used = (design.col(column).array() != 0).count();
    *unknowns[k].result = CouponEstimate{unknowns[k].sign * fit.coefficients(column), fit.standard_errors(column),
                                         static_cast<int>(used)};
  }
  const Eigen::VectorXd off = y - design * fit.coefficients;
  const double limit = freedom > 1 ? student_quantile(doubtful_share / static_cast<double>(n), freedom - 1) : 0;
  for (Eigen::Index i = 0; i < n; ++i) {
    CheckedReading& r = c.readings[rows[static_cast<std::size_t>(i)]];
    r.off_mm = off(i);
    if (freedom < 2 || std::fabs(off(i)) < caliper_errs_mm) continue;
    // Externally studentized: the spread without this reading.
    const double leverage = (design.row(i) * fit.cofactor * design.row(i).transpose())(0);
    const double others = (fit.residual_sum - off(i) * off(i) / (1 - leverage)) / (freedom - 1);
    r.doubtful = leverage < 1 && (others <= 0 || std::fabs(off(i)) > limit * std::sqrt(others * (1 - leverage)));
  }
}

}  // namespace

Calibration calibrate(const std::vector<CouponReading>& readings, const std::string& source) {
  Calibration c;
  std::vector<std::size_t> plan, height;
  bool hole = false, outline = false, x = false, y = false;
  for (const CouponReading& r : readings) {
    (in_plan(r) ? plan : height).push_back(c.readings.size());
    c.readings.push_back({r, 0, false});
    if (!in_plan(r)) continue;
    (r.size.kind == Kind::outline || r.size.kind == Kind::boss ? outline : hole) = true;
    x = x || r.size.axis == 'x';
    y = y || r.size.axis == 'y';
  }
  if (!plan.empty()) {
    const Unknown all[] = {{"holes", &c.hole_mm, -1}, {"outlines", &c.outline_mm, -1},
                           {"the scale along x", &c.scale_x, 1}, {"the scale along y", &c.scale_y, 1}};
    const bool wanted[] = {hole, outline, x, y};
    std::vector<Unknown> unknowns;
    Eigen::MatrixXd design(static_cast<Eigen::Index>(plan.size()), hole + outline + x + y);
    for (std::size_t k = 0; k < 4; ++k) {
      if (!wanted[k]) continue;
      for (std::size_t i = 0; i < plan.size(); ++i)
        design(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(unknowns.size())) =
            plan_row(readings[plan[i]].size, x, y)[k];
      unknowns.push_back(all[k]);
    }
    solve(plan, unknowns, design, source, "measure far and near walls of two corner holes each way, and two towers", c,
          c.rms_plan_mm, c.freedom_plan);
  }
  if (!height.empty()) {
    const bool one = std::all_of(height.begin(), height.end(), [&](std::size_t i) {
      return readings[i].size.length_mm == readings[height[0]].size.length_mm;
    });
    std::vector<Unknown> unknowns = {{"the first layer", &c.height_mm, -1}};
    // One height alone: taken as the first layer's, proportion left open.
    if (!one) unknowns.push_back({"proportion in height", &c.scale_z, 1});
    Eigen::MatrixXd design(static_cast<Eigen::Index>(height.size()), static_cast<Eigen::Index>(unknowns.size()));
    for (std::size_t i = 0; i < height.size(); ++i) {
      design(static_cast<Eigen::Index>(i), 0) = 1;
      if (!one) design(static_cast<Eigen::Index>(i), 1) = readings[height[i]].size.length_mm;
    }
    solve(height, unknowns, design, source, "measure the body and all four towers", c, c.rms_height_mm,
          c.freedom_height);
  }
  return c;
}

bool would_correct_twice(double printed_with_mm, const std::optional<CouponEstimate>& result) {
  return result && std::fabs(printed_with_mm) >= least_twice_mm &&
         std::fabs(result->value - 2 * printed_with_mm) <= std::max(2 * result->u, twice_slack_mm);
}

}  // namespace bedwright
