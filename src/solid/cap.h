// Triangulates one connected flat or curved region of a level.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Boundary of a region as closed or open runs of vertices; together they close.
struct CapBoundary {
  std::vector<std::vector<std::uint32_t>> rings;  ///< closed runs
  std::vector<std::vector<std::uint32_t>> runs;   ///< open runs, ends included
};

struct CapTriangles {
  std::vector<std::array<std::uint32_t, 3>> triangles;  ///< counter-clockwise seen from +Z; ids as given
  std::vector<Vec2> added;  ///< inner points of a curved cap; ids continue after `points`
};

/// Greatest radius a triangle's least enclosing circle may have for interpolation error <= chord over a surface whose
/// second derivatives are bounded by `curvature`; 0 for a plane (no limit).
double enclosing_radius_limit(double curvature, double chord_mm);
/// Longest edge a curved cap's border may have under that limit.
double border_edge_limit(double radius_limit);

/// `points`: positions by vertex id, snapped to a lattice of base/lattice.h. radius_limit 0: no inner points. Inner points are snapped to step_mm.
/// Throws CannotBuild where constraints cross.
CapTriangles triangulate_cap(const std::vector<Vec2>& points, const CapBoundary& boundary, double radius_limit,
                             double step_mm);

}  // namespace bedwright
