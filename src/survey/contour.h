// A profile as points, or the cut of a mesh by a plane, to lines and arcs that parts can be drawn with.
// Frame: the points' own (mm), or the cutting plane's. Method: the fewest pieces by dynamic programming (a line costs
// 1, an arc 1.5), joints at points; then lines by least squares, corners where they meet, fillets tangent to both where
// the points allow it; points that all lie on one circle are one. Whatever comes out lies within the tolerance of every
// point: else the first answer stands.
#pragma once

#include <vector>

#include "base/loop.h"
#include "base/mesh.h"

namespace bedwright {

inline constexpr std::size_t least_contour_points = 3, most_contour_points = 20000;
/// Of more points than this every n-th is followed; all of them are held against the answer.
inline constexpr std::size_t followed_points = 800;
inline constexpr double least_contour_tolerance_mm = 0.001, most_contour_tolerance_mm = 5;

struct Outline {
  bool closed = false;
  std::vector<Vec2> points;  ///< in order; a closed one does not repeat its first
  std::size_t dropped = 0;   ///< doubles, spikes and strays that cleaning left out
};

struct Contour {
  bool closed = false;
  std::vector<Curve> curves;       ///< end to end; a closed one runs counter-clockwise
  double deviation_mm = 0;         ///< farthest of the outline's points from the curves
  std::size_t tangent_joints = 0;  ///< joints without a corner, exact to rounding
};

/// Puts points in order, each next to its nearest, and cleans them: doubles, points that double back, single strays.
/// `closed`: whether the last leads back to the first. Throws BadInput (source "contour") for too few or too many
/// points, ones not finite, all on one spot, or with a gap of more than gap_shares times the usual distance and more
/// than gap_mm.
Outline ordered_outline(const std::vector<Vec2>& points, bool closed);
/// Only cleans: for points traced in order.
Outline cleaned_outline(const std::vector<Vec2>& points, bool closed);
inline constexpr double gap_shares = 8, gap_mm = 2;

/// Where the plane through `origin` cuts the mesh, along its unit axes u and v (perpendicular): every chain, closed or
/// open, the longest first. Exact on the mesh's edges. Throws BadInput where it cuts nothing.
std::vector<Outline> plane_section(const Mesh& mesh, Vec3 origin, Vec3 u, Vec3 v);

/// Throws BadInput for a tolerance out of range, and for an outline that crosses itself.
Contour lines_and_arcs(const Outline& outline, double tolerance_mm);

/// The loop that a closed contour is; a circle where it is one. Throws BadInput for an open one.
Loop loop_of(const Contour& contour);

/// Least distance of p from the curves.
double distance(const std::vector<Curve>& curves, Vec2 p);

}  // namespace bedwright
