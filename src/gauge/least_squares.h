// Levenberg-Marquardt with differences for derivatives. For a handful of unknowns. Private to the gauge.
#pragma once

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace bedwright {

/// Lowers |residuals(x)|; `residuals` fills a vector of fixed size and returns false where x is not allowed.
/// `steps` are the sizes of the differences, one an unknown.
template <typename Residuals>
void least_squares(Residuals residuals, Eigen::VectorXd& x, const Eigen::VectorXd& steps, Eigen::Index count) {
  Eigen::VectorXd r(count), trial(count), low(count), high(count);
  if (!residuals(x, r)) return;
  Eigen::MatrixXd jacobian(count, x.size());
  double damping = 1e-6;
  for (int pass = 0; pass < 60; ++pass) {
    for (Eigen::Index k = 0; k < x.size(); ++k) {
      Eigen::VectorXd a = x, b = x;
      a(k) -= steps(k);
      b(k) += steps(k);
      if (!residuals(a, low) || !residuals(b, high)) return;
      jacobian.col(k) = (high - low) / (2 * steps(k));
    }
    Eigen::VectorXd scale = jacobian.colwise().norm().transpose();
    for (Eigen::Index k = 0; k < scale.size(); ++k)
      if (!(scale(k) > 0)) scale(k) = 1;
    const Eigen::MatrixXd scaled = jacobian * scale.cwiseInverse().asDiagonal();
    const Eigen::MatrixXd normal = scaled.transpose() * scaled;
    const Eigen::VectorXd target = scaled.transpose() * -r;
    bool lower = false;
    double gain = 0;
    for (int attempt = 0; attempt < 12 && !lower; ++attempt) {
      const Eigen::MatrixXd damped = normal + damping * Eigen::MatrixXd::Identity(x.size(), x.size());
      const Eigen::VectorXd step = scale.cwiseInverse().asDiagonal() * damped.ldlt().solve(target);
      const Eigen::VectorXd next = x + step;
      if (residuals(next, trial) && trial.squaredNorm() <= r.squaredNorm()) {
        gain = r.squaredNorm() - trial.squaredNorm();
        x = next;
        lower = true;
        damping = std::max(damping / 10, 1e-18);
      } else {
        damping *= 10;
      }
    }
    if (!lower) return;
    const bool settled = gain <= 1e-14 * r.squaredNorm();
    r = trial;
    if (settled) return;
  }
}

}  // namespace bedwright
