// A scan's scale from lengths that are known: photographs and light patterns give shape well and size badly.
#pragma once

#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Standard uncertainty of a known length: caliper and picking of two points together (common practice, no source).
inline constexpr double known_length_u_mm = 0.05;

struct KnownLength {
  Vec3 a, b;      ///< in the scan, mm
  double mm = 0;  ///< the true distance
};

/// Multiplies the scan: x' = x along its x axis, y' = y along its y axis, after closing its angle of 90 + skew to 90
/// degrees.
struct ScaleFix {
  double x = 1, y = 1, z = 1;
  double skew_deg = 0;
  double x_u = 0, y_u = 0;
  double xx = 1, xy = 0, yy = 1;  ///< the map: x' = xx x + xy y, y' = yy y, z' = z z
  bool both_axes = false;         ///< the lengths fix x and y separately
  bool skew_known = false;
  double worst_mm = 0;  ///< largest difference between a known length and the corrected scan
};

/// One direction: one scale for all. Two: x and y, square to each other. Three or more: skew too. z takes their mean.
/// Throws BadInput: points that coincide, a scale beyond 10 % (says which unit it looks like).
ScaleFix scale_from(const std::vector<KnownLength>& known, double length_u_mm);
Vec3 apply(const ScaleFix& fix, Vec3 p);

}  // namespace bedwright
