// A surface as the survey fits it, and how far a point stands off it. Machine frame (or the data's own frame where no
// other is known), mm. Every distance is written as (small) / (large): a radius of kilometres keeps its digits, and a
// curvature of zero is a plane. Source: the distance from a round body by its curvature, elementary geometry.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

enum class FitShape { flat, sphere, cylinder, two_radius, saddle, measured };

/// "flat", "sphere", "cylinder", "two_radius", "saddle", "measured".
const char* to_text(FitShape shape);

/// Terms of the polynomial that is added to a sphere for saddle (first 6) and measured (all): with X, Y = (x, y) -
/// origin over `reach`: 1, X, Y, X2+Y2, X2-Y2, XY, then the cubics and quartics by falling powers of X.
inline constexpr std::size_t quadric_terms = 6, quartic_terms = 15;
std::array<double, quartic_terms> polynomial_terms(double x, double y);

struct ShapeModel {
  FitShape shape = FitShape::flat;
  Vec3 origin{};     ///< the data's middle
  double reach = 1;  ///< mm, half the data's size
  // Seen from the origin: the foot of the surface lies `offset` along the unit normal of (lean_x, lean_y, 1), which
  // points up. For two_radius the apex is at origin + (apex_x, apex_y, offset) and its normal is +Z.
  double offset = 0, lean_x = 0, lean_y = 0;
  double curvature = 0;           ///< 1/mm; positive: crown up. sphere, saddle, measured: of the sphere; cylinder
  double turn_x = 0, turn_y = 1;  ///< cylinder: the straight direction in plan, unit
  double apex_x = 0, apex_y = 0, curvature_x = 0, curvature_y = 0;  ///< two_radius
  std::array<double, quartic_terms> added{};                        ///< saddle, measured: mm above the sphere
};

/// Signed distance of p from the surface, along its normal, positive above.
double distance_from(const ShapeModel& model, Vec3 p);
/// That of each of them, to the bit.
std::vector<double> distances_from(const ShapeModel& model, const std::vector<Vec3>& points);
/// z of the surface at (x, y); within 1e-9 mm for slopes below 0.5.
double height_of(const ShapeModel& model, double x, double y);

}  // namespace bedwright
