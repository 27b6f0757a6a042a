#include "survey/least_squares.h"

#include <cmath>

namespace bedwright {

LinearFit linear_least_squares(const Eigen::MatrixXd& a, const Eigen::VectorXd& y, double rank_limit) {
  LinearFit fit;
  const Eigen::Index n = a.rows(), p = a.cols();
  if (n < p || p == 0) return fit;
  Eigen::VectorXd scale = a.colwise().norm().transpose();
  for (Eigen::Index k = 0; k < p; ++k)
    if (!(scale(k) > 0)) return fit;
  const Eigen::MatrixXd scaled = a * scale.cwiseInverse().asDiagonal();
  Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(scaled);
  qr.setThreshold(rank_limit);
  if (qr.rank() < p) return fit;
  Eigen::VectorXd x = qr.solve(y);
  // One step of refinement wins back what the factors lost.
  x += qr.solve(y - scaled * x);
  const Eigen::VectorXd residual = y - scaled * x;
  const Eigen::MatrixXd r = qr.matrixR().topLeftCorner(p, p).triangularView<Eigen::Upper>();
  const Eigen::MatrixXd inverse = r.triangularView<Eigen::Upper>().solve(Eigen::MatrixXd::Identity(p, p));
  const Eigen::MatrixXd turned = qr.colsPermutation() * inverse;
  fit.ok = true;
  fit.coefficients = scale.cwiseInverse().asDiagonal() * x;
  fit.cofactor = scale.cwiseInverse().asDiagonal() * (turned * turned.transpose()) * scale.cwiseInverse().asDiagonal();
  fit.residual_sum = residual.squaredNorm();
  fit.freedom = static_cast<int>(n - p);
  fit.residual_sd = fit.freedom > 0 ? std::sqrt(fit.residual_sum / fit.freedom) : 0;
  fit.standard_errors = fit.residual_sd * fit.cofactor.diagonal().cwiseMax(0).cwiseSqrt();
  return fit;
}

}  // namespace bedwright
