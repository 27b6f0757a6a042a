// One step of clipping a stretch of a line, 0 to 1 along it, to a half plane (Liang and Barsky 1984, from memory).
#pragma once

#include <algorithm>

namespace bedwright {

/// Keeps of from..to where at + slope * t >= 0; false where nowhere is. What is kept may end up empty (to < from).
inline bool keep_beyond(double slope, double at, double& from, double& to) {
  if (slope == 0) return at >= 0;
  if (slope > 0)
    from = std::max(from, -at / slope);
  else
    to = std::min(to, -at / slope);
  return true;
}

}  // namespace bedwright
