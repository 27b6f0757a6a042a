// Boxes along the axes: which of them meet, and what holds both.
#pragma once

#include <algorithm>

#include "base/mesh.h"

namespace bedwright {

/// Whether they have no point in common.
inline bool apart(const Box& a, const Box& b) {
  return a.low.x > b.high.x || b.low.x > a.high.x || a.low.y > b.high.y || b.low.y > a.high.y || a.low.z > b.high.z ||
         b.low.z > a.high.z;
}

/// The least box that holds both.
inline Box both(const Box& a, const Box& b) {
  return {{std::min(a.low.x, b.low.x), std::min(a.low.y, b.low.y), std::min(a.low.z, b.low.z)},
          {std::max(a.high.x, b.high.x), std::max(a.high.y, b.high.y), std::max(a.high.z, b.high.z)}};
}

/// Larger by that much to every side.
inline Box widened(const Box& box, double by) {
  return {box.low - Vec3{by, by, by}, box.high + Vec3{by, by, by}};
}

}  // namespace bedwright
