// The gauge's two ways to fit: linear, and Levenberg-Marquardt with differences for derivatives. For a handful of
// unknowns. Private to the gauge.
#pragma once

#include <Eigen/Core>
#include <functional>
#include <optional>

namespace bedwright {

/// Least |A x - b| by orthogonal factors; nothing where the columns depend on each other.
std::optional<Eigen::VectorXd> linear_solution(const Eigen::MatrixXd& a, const Eigen::VectorXd& b);

/// Fills a vector of fixed size; false where x is not allowed.
using Residuals = std::function<bool(const Eigen::VectorXd& x, Eigen::VectorXd& r)>;

/// Lowers |residuals(x)|. `steps` are the sizes of the differences, one an unknown.
void least_squares(const Residuals& residuals, Eigen::VectorXd& x, const Eigen::VectorXd& steps, Eigen::Index count);

}  // namespace bedwright
