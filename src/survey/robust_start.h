// Where the honest points lie when up to a third of the rest are clumps, flanges, edges or blunders: least trimmed
// squares of z on a polynomial, by random small samples and concentration steps. Deterministic: its own generator, one
// seed. Source: P. J. Rousseeuw, K. Van Driessen, Computing LTS regression for large data sets, Data Mining and
// Knowledge Discovery 12 (2006) 29-45.
#pragma once

#include <vector>

#include "base/tasks.h"
#include "survey/shape_model.h"

namespace bedwright {

/// Share of the points that must agree.
inline constexpr double trimmed_share = 0.55;

struct RobustStart {
  bool ok = false;
  std::array<double, quadric_terms> coefficients{};  ///< of polynomial_terms; 0 for a column that is not used
  double sigma = 0;                                  ///< noise of the honest points, made consistent for normal noise
};

/// `columns`: which of the first six terms are used. Points: at least three times as many as columns.
RobustStart least_trimmed_squares(const std::vector<Vec3>& points, Vec3 origin, double reach,
                                  const std::vector<std::size_t>& columns, const AtOnce& at_once = one_by_one);

/// Unit normal, z >= 0, of the plane that most points lie near: least 60 % quantile of the distances over planes
/// through three points.
Vec3 main_normal(const std::vector<Vec3>& points, const AtOnce& at_once = one_by_one);

/// Up to `most` of the points, spread evenly and at random, always the same ones.
std::vector<Vec3> sampled(const std::vector<Vec3>& points, std::size_t most);

/// Variance of a normal variable cut at +-k standard deviations (k = infinity: 1), and the share that is left.
struct CutNormal {
  double variance = 1, share = 1;
};
CutNormal cut_normal(double k);

}  // namespace bedwright
