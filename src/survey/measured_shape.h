// A sheet's surface as a table of heights has it: a bicubic spline over the data's box, continued beyond it.
// Frame: the machine's, heights from the datum of the readings, z up. Lengths mm.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// A reading that its neighbours contradict, and that the surface therefore does not follow.
struct LeftOut {
  std::size_t index = 0;  ///< of the reading, as given
  Vec3 at{};
  double off_mm = 0;  ///< above the surface fitted without it
};

/// Tensor product of cubic B-splines on even knots: twice continuously differentiable. Outside the box each factor
/// goes on as the quadratic that it has at the rim, so domes go on as domes, for beyond_mm; after that straight.
struct MeasuredShape {
  Vec2 low, high;                    ///< box of the data followed
  int cells_x = 0, cells_y = 0;      ///< cells of the box
  double beyond_mm = 0;              ///< how far outside the box the surface still means something
  std::vector<double> coefficients;  ///< (cells_x + 3) * (cells_y + 3), x fastest
  double origin_z = 0;               ///< height at X = Y = 0
  std::vector<Vec2> hull;            ///< convex hull of the data followed, counter-clockwise

  // How it was found.
  std::size_t points = 0;         ///< readings given
  std::vector<LeftOut> outliers;  ///< by index
  double free_values = 0;         ///< trace of the smoother: 6 for a plain quadric
  double smoothing = 0;           ///< the penalty's weight, relative to the data's
  double noise_mm = 0;    ///< standard deviation of one reading about the surface, sqrt(RSS / (n - free_values))
  double largest_mm = 0;  ///< largest residual of a reading that was followed
  Vec2 tilt{};            ///< slope of the plane that fits the data best; it is kept in the surface
};

/// Height with its gradient and second derivatives, closed form.
struct SpotOnShape {
  double z = 0;
  Vec2 gradient{};
  double xx = 0, xy = 0, yy = 0;
};
SpotOnShape spot_on(const MeasuredShape& shape, Vec2 p);
double height_on(const MeasuredShape& shape, Vec2 p);

/// Upper bound of |second directional derivative| over the part of the disc that lies within beyond_mm of the box: from
/// the Bezier points of the second derivatives in every cell, whose hull holds them; Gershgorin for the direction.
double curvature_bound(const MeasuredShape& shape, Vec2 centre, double reach);

/// How far p lies outside the data's hull; 0 inside.
double beyond_data(const MeasuredShape& shape, Vec2 p);

/// What the quadratic continuation may be off by, `distance` outside the data: the largest third derivative along X or
/// along Y anywhere in the box, times distance^3 / 6. A bound as long as the sheet does not bend more abruptly outside
/// than it does inside; noise in the data adds to it.
double continuation_bound_mm(const MeasuredShape& shape, double distance);

/// The four cubic B-splines that live on cell i (0 .. cells - 1), or their derivative of the order 0 .. 2, at u in
/// cells from the box's low rim: any u, continued as said above (`beyond` in cells). Sets i.
std::array<double, 4> spline_weights(int cells, double beyond, double u, int order, int& i);

}  // namespace bedwright
