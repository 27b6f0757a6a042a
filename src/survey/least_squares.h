// Linear least squares by orthogonal factors, for everything in the survey that is linear. The columns are scaled to
// unit length first. Certified sets of a metrology institute come out to 9 digits and more, the near-collinear one to 7
// (tests). Called from sources only: it brings Eigen.
#pragma once

#include <Eigen/Dense>

namespace bedwright {

struct LinearFit {
  bool ok = false;                                ///< false: fewer rows than columns, or columns that do not differ
  Eigen::VectorXd coefficients, standard_errors;  ///< errors from the residuals; zero where no row is left over
  Eigen::MatrixXd cofactor;                       ///< (A^T A)^-1
  double residual_sum = 0;                        ///< of squares
  double residual_sd = 0;                         ///< sqrt(residual_sum / freedom)
  int freedom = 0;
};

/// Least |A x - y|. Columns count as dependent below `rank_limit` of the largest after scaling.
LinearFit linear_least_squares(const Eigen::MatrixXd& a, const Eigen::VectorXd& y, double rank_limit = 1e-13);

}  // namespace bedwright
