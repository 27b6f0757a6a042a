// Geometric least-squares fits: the sum of squares of distances along the normal is least. Gauss-Newton with step
// control from the linear solution; unknowns are curvatures, never radii, so a nearly flat sheet is as well conditioned
// as a ball. Agrees with scipy's least_squares to 1e-9 relative (tests).
#pragma once

#include <array>
#include <vector>

#include "survey/shape_model.h"

namespace bedwright {

struct WeightedPoint {
  Vec3 at;
  double weight = 1;
};

inline constexpr std::size_t most_unknowns = 5;

struct GeometricFit {
  bool ok = false;
  ShapeModel model;
  std::size_t unknowns = 0;
  double residual_sum = 0;  ///< weighted, of squares
  /// Cofactors (J^T W J)^-1, row-major in the first `unknowns`, of: flat offset, lean_x, lean_y; sphere + curvature;
  /// cylinder + direction (rad); two_radius apex_x, apex_y, offset, curvature_x, curvature_y.
  std::array<double, most_unknowns * most_unknowns> cofactor{};
};

/// `start` gives origin and reach; shape decides what is fitted. ok is false where the points do not decide it.
GeometricFit fit_flat(const std::vector<WeightedPoint>& points, Vec3 origin, double reach);
GeometricFit fit_sphere(const std::vector<WeightedPoint>& points, Vec3 origin, double reach);
/// Straight direction free; `turn` is where to start (unit, in plan).
GeometricFit fit_cylinder(const std::vector<WeightedPoint>& points, Vec3 origin, double reach, Vec2 turn);
/// The kit's two_radius: axes along X and Y, apex where the surface is level.
GeometricFit fit_two_radius(const std::vector<WeightedPoint>& points, Vec3 origin, double reach);

struct CircleFit {
  bool ok = false;
  Vec2 centre{};
  double radius = 0, residual_sum = 0;
};
/// Circle with the least sum of squares of distances, from the algebraic circle (I. Kasa, 1976) on; arcs of a few
/// degrees and more. ok is false for fewer than three points or points on one line.
CircleFit fit_circle(const std::vector<Vec2>& points);

/// Sphere's centre and top, with their derivatives by offset, lean_x, lean_y, curvature.
struct SphereTop {
  Vec3 centre{}, apex{};
  std::array<double, 4> by_x{}, by_y{};
};
SphereTop sphere_top(const ShapeModel& model);

}  // namespace bedwright
