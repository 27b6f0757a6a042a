// Boxes in float32 that surely hold what they are of.
#pragma once

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <limits>

#include "base/vec.h"

namespace bedwright {

struct FloatBox {
  float low[3] = {std::numeric_limits<float>::infinity(), std::numeric_limits<float>::infinity(),
                  std::numeric_limits<float>::infinity()};
  float high[3] = {-std::numeric_limits<float>::infinity(), -std::numeric_limits<float>::infinity(),
                   -std::numeric_limits<float>::infinity()};
};

inline FloatBox box_of(std::initializer_list<Vec3> points) {
  const auto below = [](double v) {
    const float f = static_cast<float>(v);
    return f > v ? std::nextafter(f, -std::numeric_limits<float>::infinity()) : f;
  };
  const auto above = [](double v) {
    const float f = static_cast<float>(v);
    return f < v ? std::nextafter(f, std::numeric_limits<float>::infinity()) : f;
  };
  Vec3 low = *points.begin(), high = low;
  for (const Vec3& p : points) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y), std::min(low.z, p.z)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y), std::max(high.z, p.z)};
  }
  return {{below(low.x), below(low.y), below(low.z)}, {above(high.x), above(high.y), above(high.z)}};
}

/// Whether they overlap or touch.
inline bool overlap(const FloatBox& a, const FloatBox& b) {
  return a.low[0] <= b.high[0] && b.low[0] <= a.high[0] && a.low[1] <= b.high[1] && b.low[1] <= a.high[1] &&
         a.low[2] <= b.high[2] && b.low[2] <= a.high[2];
}

inline void widen(FloatBox& box, const FloatBox& by) {
  for (int i = 0; i < 3; ++i) {
    box.low[i] = std::min(box.low[i], by.low[i]);
    box.high[i] = std::max(box.high[i], by.high[i]);
  }
}

}  // namespace bedwright
