// Circles in the plane: least squares, largest pin, smallest ring. Private to the gauge.
#pragma once

#include <optional>
#include <vector>

#include "base/vec.h"

namespace bedwright {

struct Circle {
  Vec2 centre{};
  double radius = 0;
};

/// Through three points; nothing if they lie on one line.
std::optional<Circle> circle_through(Vec2 a, Vec2 b, Vec2 c);
/// Algebraic least squares (I. Kasa, 1976) about the points' centroid; at least three points not on one line.
std::optional<Circle> fitted_circle(const std::vector<Vec2>& points);

/// A wall facet seen along the axis: points p with normal . p = offset.
struct WallLine {
  Vec2 normal{};  ///< unit, out of the material
  double offset = 0;
};
/// Largest circle with every line's material outside it, sought from `start` (convex, to 1e-8 mm).
Circle largest_pin(const std::vector<WallLine>& lines, Vec2 start);
/// Smallest circle round all points, sought from `start` (convex, to 1e-8 mm).
Circle smallest_ring(const std::vector<Vec2>& points, Vec2 start);

}  // namespace bedwright
