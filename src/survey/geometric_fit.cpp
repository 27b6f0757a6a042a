#include "survey/geometric_fit.h"

#include <Eigen/Dense>
#include <cmath>

#include "base/trig.h"
#include "survey/distance.h"
#include "survey/least_squares.h"

namespace bedwright {
namespace {

constexpr int most_passes = 100;

template <std::size_t P>
using Unknowns = std::array<double, P>;

/// Lowers sum w d^2; the distance takes unknowns and a point. Fills sum and cofactors.
template <std::size_t P, typename Distance>
bool minimise(const std::vector<WeightedPoint>& points, Vec3 origin, Distance distance, Unknowns<P>& x,
              GeometricFit& fit) {
  using Matrix = Eigen::Matrix<double, P, P>;
  using Vector = Eigen::Matrix<double, P, 1>;
  const auto sum_at = [&](const Unknowns<P>& at) {
    double sum = 0;
    for (const WeightedPoint& p : points) {
      const double d = distance(at, p.at - origin);
      sum += p.weight * d * d;
    }
    return sum;
  };
  double damping = 0, sum = sum_at(x);
  if (!std::isfinite(sum)) return false;
  for (int pass = 0; pass < most_passes; ++pass) {
    std::array<Dual<P>, P> at;
    for (std::size_t k = 0; k < P; ++k) at[k] = Dual<P>::unknown(x[k], k);
    Matrix normal = Matrix::Zero();
    Vector rhs = Vector::Zero();
    for (const WeightedPoint& p : points) {
      const Dual<P> d = distance(at, p.at - origin);
      for (std::size_t i = 0; i < P; ++i) {
        rhs(i) -= p.weight * d.d[i] * d.v;
        for (std::size_t j = 0; j <= i; ++j) normal(i, j) += p.weight * d.d[i] * d.d[j];
      }
    }
    Vector scale;
    for (std::size_t i = 0; i < P; ++i) {
      if (!(normal(i, i) > 0)) return false;
      scale(i) = 1 / std::sqrt(normal(i, i));
    }
    Matrix scaled = scale.asDiagonal() * Matrix(normal.template selfadjointView<Eigen::Lower>()) * scale.asDiagonal();
    bool lower = false;
    Vector step = Vector::Zero();
    double next_sum = sum;
    for (int attempt = 0; attempt < 20 && !lower; ++attempt) {
      Matrix damped = scaled;
      for (std::size_t i = 0; i < P; ++i) damped(i, i) *= 1 + damping;
      const Eigen::LDLT<Matrix> factors(damped);
      if (factors.info() != Eigen::Success || !(factors.vectorD().minCoeff() > 1e-14)) {
        if (damping > 1e6) return false;
        damping = damping > 0 ? damping * 10 : 1e-9;
        continue;
      }
      step = scale.asDiagonal() * factors.solve(scale.asDiagonal() * rhs);
      Unknowns<P> next = x;
      for (std::size_t k = 0; k < P; ++k) next[k] += step(k);
      next_sum = sum_at(next);
      // Rounding alone may raise a sum that is at its least.
      if (next_sum <= sum * (1 + 1e-13)) {
        x = next;
        lower = true;
        damping /= 10;
        if (damping < 1e-12) damping = 0;
      } else {
        damping = damping > 0 ? damping * 10 : 1e-6;
      }
    }
    if (!lower) break;
    const double size = (scale.cwiseInverse().asDiagonal() * step).norm();
    sum = next_sum;
    if (size <= 1e-14 * std::sqrt(normal.diagonal().sum() + sum) || size * size <= 1e-26 * sum) break;
  }
  std::array<Dual<P>, P> at;
  for (std::size_t k = 0; k < P; ++k) at[k] = Dual<P>::unknown(x[k], k);
  Matrix normal = Matrix::Zero();
  fit.residual_sum = 0;
  for (const WeightedPoint& p : points) {
    const Dual<P> d = distance(at, p.at - origin);
    fit.residual_sum += p.weight * d.v * d.v;
    for (std::size_t i = 0; i < P; ++i)
      for (std::size_t j = 0; j < P; ++j) normal(i, j) += p.weight * d.d[i] * d.d[j];
  }
  Vector scale;
  for (std::size_t i = 0; i < P; ++i) scale(i) = 1 / std::sqrt(normal(i, i));
  const Matrix scaled = scale.asDiagonal() * normal * scale.asDiagonal();
  const Eigen::SelfAdjointEigenSolver<Matrix> values(scaled, Eigen::EigenvaluesOnly);
  if (!(values.eigenvalues()(0) > 1e-12 * values.eigenvalues()(P - 1))) return false;
  const Matrix inverse = scale.asDiagonal() * scaled.ldlt().solve(Matrix::Identity()) * scale.asDiagonal();
  for (std::size_t i = 0; i < P; ++i)
    for (std::size_t j = 0; j < P; ++j) fit.cofactor[i * P + j] = inverse(i, j);
  fit.unknowns = P;
  fit.ok = true;
  return true;
}

/// Vertical least squares z = c . terms(X, Y) on the first `terms` of the chosen columns: where the geometric fits
/// start.
std::array<double, quadric_terms> start_of(const std::vector<WeightedPoint>& points, Vec3 origin, double reach,
                                           const std::vector<std::size_t>& columns) {
  Eigen::MatrixXd a(points.size(), columns.size());
  Eigen::VectorXd z(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec3 q = points[i].at - origin;
    const auto terms = polynomial_terms(q.x / reach, q.y / reach);
    const double w = std::sqrt(points[i].weight);
    const auto row = static_cast<Eigen::Index>(i);
    for (std::size_t k = 0; k < columns.size(); ++k) a(row, static_cast<Eigen::Index>(k)) = w * terms[columns[k]];
    z(row) = w * q.z;
  }
  const LinearFit fit = linear_least_squares(a, z, 1e-9);
  std::array<double, quadric_terms> c{};
  if (fit.ok)
    for (std::size_t k = 0; k < columns.size(); ++k) c[columns[k]] = fit.coefficients(static_cast<Eigen::Index>(k));
  return c;
}

GeometricFit blank(FitShape shape, Vec3 origin, double reach) {
  GeometricFit fit;
  fit.model.shape = shape;
  fit.model.origin = origin;
  fit.model.reach = reach;
  return fit;
}

}  // namespace

GeometricFit fit_flat(const std::vector<WeightedPoint>& points, Vec3 origin, double reach) {
  GeometricFit fit = blank(FitShape::flat, origin, reach);
  const auto c = start_of(points, origin, reach, {0, 1, 2});
  Unknowns<3> x{c[0], -c[1] / reach, -c[2] / reach};
  minimise<3>(
      points, origin, [](const auto& u, Vec3 q) { return plane_distance(u[0], u[1], u[2], q); }, x, fit);
  fit.model.offset = x[0];
  fit.model.lean_x = x[1];
  fit.model.lean_y = x[2];
  return fit;
}

GeometricFit fit_sphere(const std::vector<WeightedPoint>& points, Vec3 origin, double reach) {
  GeometricFit fit = blank(FitShape::sphere, origin, reach);
  const auto c = start_of(points, origin, reach, {0, 1, 2, 3});
  Unknowns<4> x{c[0], -c[1] / reach, -c[2] / reach, -2 * c[3] / (reach * reach)};
  minimise<4>(
      points, origin, [](const auto& u, Vec3 q) { return sphere_distance(u[0], u[1], u[2], u[3], q); }, x, fit);
  fit.model.offset = x[0];
  fit.model.lean_x = x[1];
  fit.model.lean_y = x[2];
  fit.model.curvature = x[3];
  return fit;
}

GeometricFit fit_cylinder(const std::vector<WeightedPoint>& points, Vec3 origin, double reach, Vec2 turn) {
  GeometricFit fit = blank(FitShape::cylinder, origin, reach);
  const auto c = start_of(points, origin, reach, {0, 1, 2, 3, 4, 5});
  // z = ... - k/2 v^2 with v across the straight direction: the trace of the second derivatives is the curvature.
  Unknowns<5> x{c[0], -c[1] / reach, -c[2] / reach, -4 * c[3] / (reach * reach), 0};
  // The direction is counted from the start, where it is a small angle: (turn + angle * square) is turned by its
  // arctangent.
  Vec2 from = turn;
  for (int round = 0; round < 3; ++round) {
    x[4] = 0;
    fit.ok = false;
    const bool done = minimise<5>(
        points, origin,
        [from](const auto& u, Vec3 q) {
          using T = std::decay_t<decltype(u[0])>;
          return cylinder_distance<T>(u[0], u[1], u[2], u[3], T(from.x) - u[4] * T(from.y),
                                      T(from.y) + u[4] * T(from.x), q);
        },
        x, fit);
    if (!done) return fit;
    const Vec2 next{from.x - x[4] * from.y, from.y + x[4] * from.x};
    from = (1 / length(next)) * next;
    if (std::fabs(x[4]) < 1e-12) break;
  }
  fit.model.offset = x[0];
  fit.model.lean_x = x[1];
  fit.model.lean_y = x[2];
  fit.model.curvature = x[3];
  if (from.y < 0 || (from.y == 0 && from.x < 0)) from = -from;
  fit.model.turn_x = from.x;
  fit.model.turn_y = from.y;
  return fit;
}

GeometricFit fit_two_radius(const std::vector<WeightedPoint>& points, Vec3 origin, double reach) {
  GeometricFit fit = blank(FitShape::two_radius, origin, reach);
  const auto c = start_of(points, origin, reach, {0, 1, 2, 3, 4});
  const double kx = -2 * (c[3] + c[4]) / (reach * reach), ky = -2 * (c[3] - c[4]) / (reach * reach);
  if (kx == 0 || ky == 0) return fit;
  const double sx = c[1] / reach, sy = c[2] / reach;
  Unknowns<5> x{sx / kx, sy / ky, c[0] + sx * sx / (2 * kx) + sy * sy / (2 * ky), kx, ky};
  minimise<5>(
      points, origin, [](const auto& u, Vec3 q) { return torus_distance(u[0], u[1], u[2], u[3], u[4], q); }, x, fit);
  fit.model.apex_x = x[0];
  fit.model.apex_y = x[1];
  fit.model.offset = x[2];
  fit.model.curvature_x = x[3];
  fit.model.curvature_y = x[4];
  return fit;
}

CircleFit fit_circle(const std::vector<Vec2>& points) {
  CircleFit circle;
  if (points.size() < 3) return circle;
  Vec2 mean{};
  for (Vec2 p : points) mean = mean + (1.0 / static_cast<double>(points.size())) * p;
  Eigen::MatrixXd a(static_cast<Eigen::Index>(points.size()), 3);
  Eigen::VectorXd y(a.rows());
  std::vector<WeightedPoint> flat;
  for (Eigen::Index i = 0; i < a.rows(); ++i) {
    const Vec2 q = points[static_cast<std::size_t>(i)] - mean;
    a.row(i) << q.x, q.y, 1;
    y(i) = dot(q, q);
    flat.push_back({{q.x, q.y, 0}, 1});
  }
  const LinearFit start = linear_least_squares(a, y, 1e-9);
  if (!start.ok) return circle;
  const double x0 = start.coefficients(0) / 2, y0 = start.coefficients(1) / 2;
  Unknowns<3> x{x0, y0, std::sqrt(std::max(0.0, start.coefficients(2) + x0 * x0 + y0 * y0))};
  GeometricFit fit;
  circle.ok = minimise<3>(
      flat, {},
      [](const auto& u, Vec3 q) {
        using T = std::decay_t<decltype(u[0])>;
        const T dx = T(q.x) - u[0], dy = T(q.y) - u[1];
        return root(dx * dx + dy * dy) - u[2];
      },
      x, fit);
  circle.centre = mean + Vec2{x[0], x[1]};
  circle.radius = x[2];
  circle.residual_sum = fit.residual_sum;
  return circle;
}

SphereTop sphere_top(const ShapeModel& m) {
  const double size2 = 1 + m.lean_x * m.lean_x + m.lean_y * m.lean_y, size = std::sqrt(size2);
  const Vec3 n{m.lean_x / size, m.lean_y / size, 1 / size};
  const double k = m.curvature, along = m.offset - 1 / k;
  SphereTop top;
  top.centre = m.origin + along * n;
  top.apex = {top.centre.x, top.centre.y, top.centre.z + 1 / k};
  // d n_x / d lean_x = (1 - n_x^2) / size and so on.
  top.by_x = {n.x, along * (1 - n.x * n.x) / size, -along * n.x * n.y / size, n.x / (k * k)};
  top.by_y = {n.y, -along * n.x * n.y / size, along * (1 - n.y * n.y) / size, n.y / (k * k)};
  return top;
}

}  // namespace bedwright
