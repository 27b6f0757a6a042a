#include "gauge/fit_surface.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>

#include "gauge/cylinders.h"
#include "gauge/least_squares.h"

namespace bedwright {
namespace {

constexpr std::size_t most_fit_points = 4000;  // of a finer face every n-th vertex is fitted; all are checked

Vec3 mean_of(const std::vector<Vec3>& points) {
  Vec3 sum{};
  for (const Vec3& p : points) sum = sum + p;
  return (1.0 / static_cast<double>(points.size())) * sum;
}

std::vector<Vec3> thinned(const std::vector<Vec3>& points) {
  const std::size_t step = points.size() / most_fit_points + 1;
  if (step == 1) return points;
  std::vector<Vec3> out;
  for (std::size_t i = 0; i < points.size(); i += step) out.push_back(points[i]);
  return out;
}

double spread_of(const std::vector<Vec3>& points, Vec3 centre) {
  double most = 0;
  for (const Vec3& p : points) most = std::max(most, length(p - centre));
  return most;
}

}  // namespace

std::optional<FittedPlane> fitted_plane(const std::vector<Vec3>& points, Vec3 up) {
  if (points.size() < 3) return std::nullopt;
  FittedPlane plane;
  plane.centroid = mean_of(points);
  Eigen::Matrix3d m = Eigen::Matrix3d::Zero();
  for (const Vec3& p : points) {
    const Vec3 q = p - plane.centroid;
    const Eigen::Vector3d e(q.x, q.y, q.z);
    m += e * e.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(m);
  if (!(solver.eigenvalues()(1) > 1e-12 * solver.eigenvalues()(2))) return std::nullopt;
  const Eigen::Vector3d n = solver.eigenvectors().col(0);
  plane.normal = {n(0), n(1), n(2)};
  if (dot(plane.normal, up) < 0) plane.normal = -plane.normal;
  for (const Vec3& p : points)
    plane.residual_mm = std::max(plane.residual_mm, std::fabs(dot(p - plane.centroid, plane.normal)));
  return plane;
}

std::optional<FittedSphere> fitted_sphere(const std::vector<Vec3>& points, Vec3 up) {
  if (points.size() < 4) return std::nullopt;
  const std::vector<Vec3> data = thinned(points);
  const Vec3 mean = mean_of(data);
  const double scale = spread_of(data, mean);
  if (!(scale > 0)) return std::nullopt;
  const AxisFrame frame(up);
  // k/2 |q|^2 + gx x + gy y + z + c = 0 with q in units of the spread: linear, and exact for points of a sphere.
  Eigen::MatrixXd a(data.size(), 4);
  Eigen::VectorXd b(data.size()), weight = Eigen::VectorXd::Ones(static_cast<Eigen::Index>(data.size()));
  for (std::size_t i = 0; i < data.size(); ++i) {
    const Vec3 q = (1 / scale) * (data[i] - mean);
    const auto row = static_cast<Eigen::Index>(i);
    a.row(row) << 0.5 * dot(q, q), dot(q, frame.u), dot(q, frame.v), 1;
    b(row) = -dot(q, frame.axis);
  }
  Eigen::Vector4d x;
  for (int pass = 0; pass < 4; ++pass) {
    const std::optional<Eigen::VectorXd> solution = linear_solution(weight.asDiagonal() * a, weight.asDiagonal() * b);
    if (!solution) return std::nullopt;
    x = *solution;
    // Algebraic distance over the gradient's length is the geometric one to first order.
    for (Eigen::Index i = 0; i < weight.size(); ++i) {
      const double gx = x(0) * a(i, 1) + x(1), gy = x(0) * a(i, 2) + x(2), gz = 1 - x(0) * b(i);
      weight(i) = 1 / std::sqrt(gx * gx + gy * gy + gz * gz);
    }
  }
  const double k = x(0), g2 = x(1) * x(1) + x(2) * x(2) + 1, r2 = g2 - 2 * k * x(3);
  if (std::fabs(k) < 1e-9 || !(r2 > 0)) return std::nullopt;
  FittedSphere sphere;
  sphere.centre = mean + (-scale / k) * (x(1) * frame.u + x(2) * frame.v + frame.axis);
  sphere.radius_mm = scale * std::sqrt(r2) / k;
  sphere.apex = sphere.centre + sphere.radius_mm * up;
  for (const Vec3& p : points)
    sphere.residual_mm =
        std::max(sphere.residual_mm, std::fabs(length(p - sphere.centre) - std::fabs(sphere.radius_mm)));
  return sphere;
}

std::optional<FittedCylinder> fitted_cylinder(const std::vector<Vec3>& points, Vec3 up) {
  if (points.size() < 6) return std::nullopt;
  const std::vector<Vec3> data = thinned(points);
  const Vec3 mean = mean_of(data);
  const double scale = spread_of(data, mean);
  if (!(scale > 0)) return std::nullopt;
  const AxisFrame frame(up);
  const auto count = static_cast<Eigen::Index>(data.size());
  Eigen::MatrixXd q(count, 3), a(count, 6);
  for (Eigen::Index i = 0; i < count; ++i) {
    const Vec3 p = (1 / scale) * (data[static_cast<std::size_t>(i)] - mean);
    q.row(i) << dot(p, frame.u), dot(p, frame.v), dot(p, up);
    a.row(i) << 1, q(i, 0), q(i, 1), q(i, 0) * q(i, 0), q(i, 0) * q(i, 1), q(i, 1) * q(i, 1);
  }
  const std::optional<Eigen::VectorXd> solution = linear_solution(a, q.col(2));
  if (!solution) return std::nullopt;
  const Eigen::VectorXd& c = *solution;
  Eigen::Matrix2d hessian;
  hessian << 2 * c(3), c(4), c(4), 2 * c(5);
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> solver(hessian);
  const int bent = std::fabs(solver.eigenvalues()(0)) > std::fabs(solver.eigenvalues()(1)) ? 0 : 1;
  const double curvature = solver.eigenvalues()(bent);
  if (std::fabs(curvature) < 1e-9) return std::nullopt;
  const Eigen::Vector2d straight = solver.eigenvectors().col(1 - bent), across = solver.eigenvectors().col(bent);
  // Unknowns: height and tilt across of the top line's plane, its bend, and the axis' turn and tilt.
  const auto distances = [&](const Eigen::VectorXd& x, Eigen::VectorXd& r) {
    Eigen::Vector3d axis(straight(0) + x(3) * across(0), straight(1) + x(3) * across(1), x(4));
    axis.normalize();
    Eigen::Vector3d normal(-x(1) * across(0), -x(1) * across(1), 1);
    normal = (normal - normal.dot(axis) * axis).normalized();
    const double k = -x(2);  // bulging along up has negative second derivative
    if (std::fabs(k) < 1e-12) return false;
    const Eigen::Vector3d top(0, 0, x(0)), side = axis.cross(normal);
    for (Eigen::Index i = 0; i < count; ++i) {
      const Eigen::Vector3d p = q.row(i).transpose() - top;
      const double s = p.dot(side), z = p.dot(normal);
      // |radius vector| - radius, written so that a small curvature loses nothing.
      const double lift = k * (s * s + z * z) + 2 * z;
      r(i) = lift / (1 + std::sqrt(std::max(0.0, 1 + k * lift)));
    }
    return true;
  };
  Eigen::VectorXd x(5), steps = Eigen::VectorXd::Constant(5, 1e-6);
  const Eigen::Vector2d slope(c(1), c(2));
  x << c(0), slope.dot(across), curvature, 0, slope.dot(straight);
  least_squares(distances, x, steps, count);
  Eigen::Vector3d axis(straight(0) + x(3) * across(0), straight(1) + x(3) * across(1), x(4));
  axis.normalize();
  Eigen::Vector3d normal(-x(1) * across(0), -x(1) * across(1), 1);
  normal = (normal - normal.dot(axis) * axis).normalized();
  const auto space = [&](const Eigen::Vector3d& d) { return d(0) * frame.u + d(1) * frame.v + d(2) * up; };
  FittedCylinder cylinder;
  cylinder.axis = upward(space(axis));
  cylinder.radius_mm = scale / -x(2);
  cylinder.point = mean + scale * (x(0) * up) - cylinder.radius_mm * space(normal);
  for (const Vec3& p : points) {
    const double d = length(cross(p - cylinder.point, cylinder.axis));
    cylinder.residual_mm = std::max(cylinder.residual_mm, std::fabs(d - std::fabs(cylinder.radius_mm)));
  }
  return cylinder;
}

}  // namespace bedwright
