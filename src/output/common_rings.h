// What two simple polygons have in common (Boost.Geometry). Any unit, either turning sense.
#pragma once

#include <vector>

#include "base/vec.h"

namespace bedwright {

/// The outer borders of all pieces, clockwise, the first corner not repeated; none where only borders touch. Corners of
/// neither polygon are right to rounding.
std::vector<std::vector<Vec2>> common_rings(const std::vector<Vec2>& one, const std::vector<Vec2>& other);

}  // namespace bedwright
