// What of a polygon lies within a convex one (Sutherland and Hodgman 1974). Any unit, either turning sense.
#pragma once

#include <vector>

#include "base/vec.h"

namespace bedwright {

/// In one ring, empty where nothing is left; where it is several pieces, they hang together by edges that run back over
/// themselves along the convex border: filled, or asked for a point, it is the pieces.
std::vector<Vec2> clipped(std::vector<Vec2> polygon, const std::vector<Vec2>& convex);

bool is_convex(const std::vector<Vec2>& polygon);

}  // namespace bedwright
