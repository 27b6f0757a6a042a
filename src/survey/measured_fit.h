// A smooth surface through measured heights.
// Which: a bicubic B-spline with the rotation-invariant third-derivative penalty
//   sum (z - f)^2 + weight * integral (f_xxx^2 + 3 f_xxy^2 + 3 f_xyy^2 + f_yyy^2),
// whose limit for much smoothing is the best quadric (dome, ridge, saddle, twist), so that few or noisy readings give
// the plain shape that a sheet has, and only what the readings agree on is added to it. The weight is the one of least
// generalized cross-validation score n RSS / (n - trace)^2 (Craven and Wahba 1979, from memory), sought in steps of
// two. Gram matrices in closed form; banded Cholesky; trace and leverages from the band of the inverse (recurrence of
// Takahashi, Fagan and Chin 1973, from memory). Sums, products, quotients and square roots only: the same bytes
// anywhere.
#pragma once

#include <memory>
#include <vector>

#include "kit/measured_points.h"
#include "survey/measured_shape.h"

namespace bedwright {

/// Fewer readings than this get the quadric alone: they cannot tell a wave from noise, nor a wrong reading from either.
inline constexpr std::size_t least_points_to_judge = 16;
/// A reading is left out if it is off the surface that the others give by more than this, and its residual over the
/// square root of 1 - leverage is more than outlier_spreads standard deviations as the median of all tells them; at
/// most a twentieth of all, the worst first.
inline constexpr double least_outlier_mm = 0.05;
inline constexpr double outlier_spreads = 6;
/// Cells along one side of the box: waves shorter than two cells are smoothed away.
inline constexpr int most_cells = 20;
/// How far beyond the data a surface is continued: this share of the box's shorter side, at most so many mm.
inline constexpr double beyond_share = 0.15, most_beyond_mm = 30;

/// Whether some quadric is told by the points' places: not so for points on one or two lines, or on one circle.
bool tells_a_quadric(const std::vector<Vec3>& points);

/// `lowered_mm`: the surface wanted lies this far below the points, along its normal (the sheet's thickness, where they
/// were taken on the upper face): each point is moved along the normal of the surface through the points, and the
/// spline fitted again. Off by that surface's error of slope squared times lowered_mm / 2: below 1e-4 mm for slopes
/// known to 0.01.
/// Throws BadInput for too few or too many points, points that are not finite, and for places that tell no quadric.
std::shared_ptr<const MeasuredShape> fit_measured(const std::vector<Vec3>& points, double lowered_mm = 0);

}  // namespace bedwright
