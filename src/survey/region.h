// Which points belong to the sheet, by where they lie seen from above.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

struct Region {
  std::vector<Vec2> corners;  ///< of a polygon, in order; a box has four
};

/// Four numbers X0,Y0,X1,Y1: a box. Six or more: the corners of a polygon. Throws BadUsage.
Region region_of(const std::vector<double>& numbers);
/// Borders belong to the region on one side or the other: no matter for scattered points.
bool holds(const Region& region, double x, double y);
/// Leaves what the region holds, in order.
void crop(std::vector<Vec3>& points, const Region& region);
/// The same of a run: moves what the region holds to its front and returns how many that are.
std::size_t crop(Vec3* points, std::size_t count, const Region& region);
/// How many of a run the region holds.
std::size_t count_in(const Vec3* points, std::size_t count, const Region& region);

}  // namespace bedwright
