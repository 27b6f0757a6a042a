#include "survey/sphere_pass.h"

#include <algorithm>
#include <cmath>

#include "survey/robust_start.h"

namespace bedwright {

PassSums pass_over(const std::vector<Vec3>& points, const Estimate& estimate, double cut_mm) {
  const ShapeModel& m = estimate.sphere;
  const double size = std::sqrt(1 + m.lean_x * m.lean_x + m.lean_y * m.lean_y);
  const Vec3 n{m.lean_x / size, m.lean_y / size, 1 / size};
  const double k = m.curvature, offset = m.offset, by_lean = (1 - k * offset) / size, to_unit = 1 / m.reach;
  const Vec3 foot = m.origin + offset * n;
  const auto& left = estimate.left;

  PassSums sums;
  double nn[10] = {}, nr[4] = {}, tt[21] = {}, tr[6] = {};
  for (const Vec3& p : points) {
    const Vec3 u = p - foot;
    const double square = dot(u, u), height = dot(u, n);
    const double power = k * square + 2 * height, s = std::sqrt(1 + k * power);
    const double d = power / (1 + s);
    const double x = (p.x - m.origin.x) * to_unit, y = (p.y - m.origin.y) * to_unit;
    const double t[6] = {1, x, y, x * x + y * y, x * x - y * y, x * y};
    double r = d;
#pragma GCC unroll 6
    for (int a = 0; a < 6; ++a) r -= left[static_cast<std::size_t>(a)] * t[a];
    if (!(std::fabs(r) <= cut_mm)) continue;
    ++sums.kept;
    const double inverse = 1 / s;
    const Vec3 q = u + offset * n;
    const double along = height + offset;
    const double j[4] = {-(1 + k * height) * inverse, by_lean * (q.x - along * n.x) * inverse,
                         by_lean * (q.y - along * n.y) * inverse, (square - d * d) * 0.5 * inverse};
    int at = 0;
#pragma GCC unroll 4
    for (int a = 0; a < 4; ++a) {
      nr[a] -= j[a] * d;
#pragma GCC unroll 4
      for (int b = 0; b <= a; ++b) nn[at++] += j[a] * j[b];
    }
    at = 0;
#pragma GCC unroll 6
    for (int a = 0; a < 6; ++a) {
      tr[a] += t[a] * d;
#pragma GCC unroll 6
      for (int b = 0; b <= a; ++b) tt[at++] += t[a] * t[b];
    }
    sums.squares += d * d;
    sums.low = {std::min(sums.low.x, p.x), std::min(sums.low.y, p.y), std::min(sums.low.z, p.z)};
    sums.high = {std::max(sums.high.x, p.x), std::max(sums.high.y, p.y), std::max(sums.high.z, p.z)};
  }
  int at = 0;
  for (int a = 0; a < 4; ++a) {
    sums.rhs(a) = nr[a];
    for (int b = 0; b <= a; ++b) sums.normal(a, b) = sums.normal(b, a) = nn[at++];
  }
  at = 0;
  for (int a = 0; a < 6; ++a) {
    sums.terms_rhs(a) = tr[a];
    for (int b = 0; b <= a; ++b) sums.terms(a, b) = sums.terms(b, a) = tt[at++];
  }
  return sums;
}

void add(PassSums& sums, const PassSums& more) {
  sums.kept += more.kept;
  sums.normal += more.normal;
  sums.rhs += more.rhs;
  sums.terms += more.terms;
  sums.terms_rhs += more.terms_rhs;
  sums.squares += more.squares;
  sums.low = {std::min(sums.low.x, more.low.x), std::min(sums.low.y, more.low.y), std::min(sums.low.z, more.low.z)};
  sums.high = {std::max(sums.high.x, more.high.x), std::max(sums.high.y, more.high.y),
               std::max(sums.high.z, more.high.z)};
}

double left_at(const Estimate& estimate, Vec3 p) {
  const ShapeModel& m = estimate.sphere;
  const double x = (p.x - m.origin.x) / m.reach, y = (p.y - m.origin.y) / m.reach;
  const auto& c = estimate.left;
  return c[0] + c[1] * x + c[2] * y + c[3] * (x * x + y * y) + c[4] * (x * x - y * y) + c[5] * x * y;
}

double above(const Estimate& estimate, Vec3 p) {
  return distance_from(estimate.sphere, p) - left_at(estimate, p);
}

bool improve(Estimate& estimate, const PassSums& sums, const std::vector<std::size_t>& columns, double cut_sigmas,
             double sigma_floor, double& step) {
  const auto p = static_cast<Eigen::Index>(columns.size());
  if (sums.kept <= columns.size()) return false;
  Eigen::Vector4d scale;
  for (int i = 0; i < 4; ++i) {
    if (!(sums.normal(i, i) > 0)) return false;
    scale(i) = 1 / std::sqrt(sums.normal(i, i));
  }
  const Eigen::Matrix4d scaled = scale.asDiagonal() * sums.normal * scale.asDiagonal();
  const Eigen::LDLT<Eigen::Matrix4d> factors(scaled);
  if (!(factors.vectorD().minCoeff() > 1e-10)) return false;
  const Eigen::Vector4d move = scale.asDiagonal() * factors.solve(scale.asDiagonal() * sums.rhs);

  Eigen::MatrixXd normal(p, p);
  Eigen::VectorXd rhs(p);
  for (Eigen::Index a = 0; a < p; ++a) {
    rhs(a) = sums.terms_rhs(static_cast<Eigen::Index>(columns[static_cast<std::size_t>(a)]));
    for (Eigen::Index b = 0; b < p; ++b)
      normal(a, b) = sums.terms(static_cast<Eigen::Index>(columns[static_cast<std::size_t>(a)]),
                                static_cast<Eigen::Index>(columns[static_cast<std::size_t>(b)]));
  }
  const Eigen::VectorXd c = normal.ldlt().solve(rhs);
  if (!c.allFinite()) return false;
  const double freedom = static_cast<double>(sums.kept - columns.size());
  const double variance = std::max(0.0, sums.squares - c.dot(rhs)) / freedom / cut_normal(cut_sigmas).variance;
  estimate.sigma = std::max(std::sqrt(variance), sigma_floor);

  estimate.left = {};
  for (Eigen::Index a = 0; a < p; ++a) estimate.left[columns[static_cast<std::size_t>(a)]] = c(a);
  // The sphere takes its share of the quadric over; on a shallow dome its derivatives are these terms.
  ShapeModel& m = estimate.sphere;
  estimate.left[0] -= move(0);
  estimate.left[1] += move(1) * m.reach;
  estimate.left[2] += move(2) * m.reach;
  estimate.left[3] += move(3) * m.reach * m.reach / 2;
  m.offset += move(0);
  m.lean_x += move(1);
  m.lean_y += move(2);
  m.curvature += move(3);
  step = (scale.cwiseInverse().asDiagonal() * move).norm() / std::sqrt(static_cast<double>(sums.kept)) / estimate.sigma;
  return true;
}

}  // namespace bedwright
