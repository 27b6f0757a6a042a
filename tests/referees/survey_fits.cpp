// Prints, with all digits, what the survey's fits make of the points on standard input (x y z a line), for a referee
// that fits the same points by its own means.
#include <Eigen/Dense>
#include <cmath>
#include <cstdio>
#include <iostream>
#include <vector>

#include "survey/distribution.h"
#include "survey/geometric_fit.h"
#include "survey/least_squares.h"

using namespace bedwright;

int main() {
  std::vector<WeightedPoint> points;
  Vec3 p;
  while (std::cin >> p.x >> p.y >> p.z) points.push_back({p, 1});
  Vec3 mean{};
  for (const WeightedPoint& w : points) mean = mean + (1.0 / static_cast<double>(points.size())) * w.at;

  const GeometricFit sphere = fit_sphere(points, mean, 100);
  const SphereTop top = sphere_top(sphere.model);
  std::printf("sphere %.17g %.17g %.17g %.17g %.17g\n", top.centre.x, top.centre.y, top.centre.z,
              1 / std::fabs(sphere.model.curvature), sphere.residual_sum);
  const GeometricFit round = fit_cylinder(points, mean, 100, {0, 1});
  std::printf("cylinder %.17g %.17g\n", 1 / std::fabs(round.model.curvature), round.residual_sum);
  const GeometricFit torus = fit_two_radius(points, mean, 100);
  std::printf("two_radius %.17g %.17g %.17g\n", 1 / std::fabs(torus.model.curvature_x),
              1 / std::fabs(torus.model.curvature_y), torus.residual_sum);
  Eigen::MatrixXd a(static_cast<Eigen::Index>(points.size()), 6);
  Eigen::VectorXd z(a.rows());
  for (Eigen::Index i = 0; i < a.rows(); ++i) {
    const Vec3 q = points[static_cast<std::size_t>(i)].at;
    a.row(i) << 1, q.x, q.y, q.x * q.x, q.x * q.y, q.y * q.y;
    z(i) = q.z;
  }
  const LinearFit quadric = linear_least_squares(a, z);
  std::printf("quadric");
  for (Eigen::Index k = 0; k < 6; ++k) std::printf(" %.17g %.17g", quadric.coefficients(k), quadric.standard_errors(k));
  std::printf("\ntails %.17g %.17g %.17g %.17g\n", student_quantile(0.05, 5), f_upper_tail(3.7, 9, 66),
              chi_squared_upper_tail(13.5, 4), student_quantile(0.001, 240));
  return 0;
}
