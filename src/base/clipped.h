// What of a polygon lies on one side of a line, or within a convex polygon (Sutherland and Hodgman 1974). Any unit.
// In one ring; where it is several pieces, they hang together by edges that run back over themselves along the border:
// filled, or asked for a point, it is the pieces.
#pragma once

#include <vector>

#include "base/vec.h"

namespace bedwright {

/// What lies at least `inside` from the line through `at` that looks `out` (unit). Either turning sense.
std::vector<Vec2> clipped(const std::vector<Vec2>& polygon, Vec2 at, Vec2 out, double inside);

/// What lies within `convex`; empty where nothing is left. Either turning sense of either.
std::vector<Vec2> clipped(std::vector<Vec2> polygon, const std::vector<Vec2>& convex);

bool is_convex(const std::vector<Vec2>& polygon);

}  // namespace bedwright
