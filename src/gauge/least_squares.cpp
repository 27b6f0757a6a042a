#include "gauge/least_squares.h"

#include <Eigen/Dense>
#include <algorithm>

namespace bedwright {

std::optional<Eigen::VectorXd> linear_solution(const Eigen::MatrixXd& a, const Eigen::VectorXd& b) {
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(a);
  if (qr.rank() < a.cols()) return std::nullopt;
  return Eigen::VectorXd(qr.solve(b));
}

void least_squares(const Residuals& residuals, Eigen::VectorXd& x, const Eigen::VectorXd& steps, Eigen::Index count) {
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
