// One pass over all points: which belong, and what they say about the sphere and about what a sphere leaves out.
// Written for millions of points: no allocation, fixed order, sums only. Private to the survey.
#pragma once

#include <Eigen/Dense>
#include <vector>

#include "survey/shape_model.h"

namespace bedwright {

/// The running estimate: a sphere, and the quadric left over above it (first six terms).
struct Estimate {
  ShapeModel sphere;
  std::array<double, quadric_terms> left{};
  double sigma = 0;
};

struct PassSums {
  std::size_t kept = 0;
  Eigen::Matrix4d normal = Eigen::Matrix4d::Zero();  ///< by offset, lean_x, lean_y, curvature
  Eigen::Vector4d rhs = Eigen::Vector4d::Zero();
  Eigen::Matrix<double, 6, 6> terms = Eigen::Matrix<double, 6, 6>::Zero();
  Eigen::Matrix<double, 6, 1> terms_rhs = Eigen::Matrix<double, 6, 1>::Zero();
  double squares = 0;  ///< of distances from the sphere
  Vec3 low{1e300, 1e300, 1e300}, high{-1e300, -1e300, -1e300};
};

void add(PassSums& sums, const PassSums& more);

/// Keeps the points within `cut_mm` of sphere and quadric together.
PassSums pass_over(const std::vector<Vec3>& points, const Estimate& estimate, double cut_mm);

/// The quadric alone, and the distance above sphere and quadric.
double left_at(const Estimate& estimate, Vec3 p);
double above(const Estimate& estimate, Vec3 p);

/// Moves the estimate to the least squares of what was kept; false if that does not decide it. `columns`: which of the
/// six terms the points can tell apart. Returns the size of the step against the noise in `step`.
bool improve(Estimate& estimate, const PassSums& sums, const std::vector<std::size_t>& columns, double cut_sigmas,
             double sigma_floor, double& step);

}  // namespace bedwright
