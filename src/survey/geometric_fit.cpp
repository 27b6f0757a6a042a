#include "survey/geometric_fit.h"

#include <Eigen/Dense>
#include <cmath>
#include <functional>

#include "base/trig.h"
#include "survey/distance.h"
#include "survey/least_squares.h"

namespace bedwright {
namespace {

constexpr int most_passes = 100;

template <std::size_t P>
using Unknowns = std::array<double, P>;

/// The sum of w d^2 to be lowered, as the method sees it; compiled once for every distance.
struct Problem {
  Eigen::Index unknowns = 0;
  std::function<double(const Eigen::VectorXd&)> sum;
  /// Fills sum w d'd'^T and -sum w d d'; returns the sum of w d^2.
  std::function<double(const Eigen::VectorXd&, Eigen::MatrixXd& normal, Eigen::VectorXd& rhs)> linearise;
};

/// False where the damped equations are not definite.
bool damped_step(const Eigen::MatrixXd& scaled, const Eigen::VectorXd& rhs, double damping, Eigen::VectorXd& step) {
  Eigen::MatrixXd damped = scaled;
  damped.diagonal() *= 1 + damping;
  const Eigen::LDLT<Eigen::MatrixXd> factors(damped);
  if (factors.info() != Eigen::Success || !(factors.vectorD().minCoeff() > 1e-14)) return false;
  step = factors.solve(rhs);
  return true;
}

/// Fills the cofactors; false where some unknown is not determined.
bool fill_cofactor(const Eigen::MatrixXd& normal, GeometricFit& fit) {
  const Eigen::Index n = normal.rows();
  const Eigen::VectorXd scale = normal.diagonal().cwiseSqrt().cwiseInverse();
  const Eigen::MatrixXd scaled = scale.asDiagonal() * normal * scale.asDiagonal();
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> values(scaled, Eigen::EigenvaluesOnly);
  if (!(values.eigenvalues()(0) > 1e-12 * values.eigenvalues()(n - 1))) return false;
  Eigen::MatrixXd inverse = Eigen::LDLT<Eigen::MatrixXd>(scaled).solve(Eigen::MatrixXd::Identity(n, n));
  inverse = (scale.asDiagonal() * inverse * scale.asDiagonal()).eval();
  for (Eigen::Index i = 0; i < n; ++i)
    for (Eigen::Index j = 0; j < n; ++j) fit.cofactor[static_cast<std::size_t>(i * n + j)] = inverse(i, j);
  return true;
}

/// Levenberg-Marquardt. Fills sum and cofactors.
bool minimise(const Problem& problem, Eigen::VectorXd& x, GeometricFit& fit) {
  double damping = 0, sum = problem.sum(x);
  if (!std::isfinite(sum)) return false;
  Eigen::MatrixXd normal(problem.unknowns, problem.unknowns);
  Eigen::VectorXd rhs(problem.unknowns), step(problem.unknowns);
  for (int pass = 0; pass < most_passes; ++pass) {
    problem.linearise(x, normal, rhs);
    if (!(normal.diagonal().minCoeff() > 0)) return false;
    const Eigen::VectorXd scale = normal.diagonal().cwiseSqrt().cwiseInverse();
    const Eigen::MatrixXd scaled = scale.asDiagonal() * normal * scale.asDiagonal();
    const Eigen::VectorXd target = scale.asDiagonal() * rhs;
    bool lower = false;
    step.setZero();
    double next_sum = sum;
    for (int attempt = 0; attempt < 20 && !lower; ++attempt) {
      if (!damped_step(scaled, target, damping, step)) {
        if (damping > 1e6) return false;
        damping = damping > 0 ? damping * 10 : 1e-9;
        continue;
      }
      const Eigen::VectorXd next = x + scale.asDiagonal() * step;
      next_sum = problem.sum(next);
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
    const double size = step.norm();
    sum = next_sum;
    if (size <= 1e-14 * std::sqrt(normal.diagonal().sum() + sum) || size * size <= 1e-26 * sum) break;
  }
  fit.residual_sum = problem.linearise(x, normal, rhs);
  if (!fill_cofactor(normal, fit)) return false;
  fit.unknowns = static_cast<std::size_t>(problem.unknowns);
  fit.ok = true;
  return true;
}

/// Lowers sum w d^2; the distance takes unknowns and a point.
template <std::size_t P, typename Distance>
bool minimise(const std::vector<WeightedPoint>& points, Vec3 origin, Distance distance, Unknowns<P>& x,
              GeometricFit& fit) {
  const auto unknowns = [](const Eigen::VectorXd& at) {
    Unknowns<P> u;
    for (std::size_t k = 0; k < P; ++k) u[k] = at(static_cast<Eigen::Index>(k));
    return u;
  };
  Problem problem;
  problem.unknowns = static_cast<Eigen::Index>(P);
  problem.sum = [&](const Eigen::VectorXd& at) {
    const Unknowns<P> u = unknowns(at);
    double sum = 0;
    for (const WeightedPoint& p : points) {
      const double d = distance(u, p.at - origin);
      sum += p.weight * d * d;
    }
    return sum;
  };
  problem.linearise = [&](const Eigen::VectorXd& x_at, Eigen::MatrixXd& normal, Eigen::VectorXd& rhs) {
    std::array<Dual<P>, P> at;
    for (std::size_t k = 0; k < P; ++k) at[k] = Dual<P>::unknown(x_at(static_cast<Eigen::Index>(k)), k);
    double lower[P][P] = {}, right[P] = {}, sum = 0;
    for (const WeightedPoint& p : points) {
      const Dual<P> d = distance(at, p.at - origin);
      sum += p.weight * d.v * d.v;
      for (std::size_t i = 0; i < P; ++i) {
        right[i] -= p.weight * d.d[i] * d.v;
        for (std::size_t j = 0; j <= i; ++j) lower[i][j] += p.weight * d.d[i] * d.d[j];
      }
    }
    for (std::size_t i = 0; i < P; ++i) {
      const auto row = static_cast<Eigen::Index>(i);
      rhs(row) = right[i];
      for (std::size_t j = 0; j <= i; ++j)
        normal(row, static_cast<Eigen::Index>(j)) = normal(static_cast<Eigen::Index>(j), row) = lower[i][j];
    }
    return sum;
  };
  Eigen::VectorXd start(problem.unknowns);
  for (std::size_t k = 0; k < P; ++k) start(static_cast<Eigen::Index>(k)) = x[k];
  const bool done = minimise(problem, start, fit);
  x = unknowns(start);
  return done;
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
