// Whether a place is one: readers of foreign files meet infinities and what is no number.
#pragma once

#include <cmath>

#include "base/vec.h"

namespace bedwright {

inline bool is_finite(Vec3 p) {
  return std::isfinite(p.x) && std::isfinite(p.y) && std::isfinite(p.z);
}

}  // namespace bedwright
