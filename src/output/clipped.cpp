#include "output/clipped.h"

#include <utility>

#include "base/loop.h"

namespace bedwright {

std::vector<Vec2> clipped(std::vector<Vec2> polygon, const std::vector<Vec2>& convex) {
  const double sense = polygon_area(convex) > 0 ? 1 : -1;
  for (std::size_t i = 0; i < convex.size(); ++i) {
    const Vec2 from = convex[i], along = convex[(i + 1) % convex.size()] - from;
    const auto within = [&](Vec2 p) { return sense * cross(along, p - from); };
    std::vector<Vec2> kept;
    for (std::size_t k = 0; k < polygon.size(); ++k) {
      const Vec2 a = polygon[k], b = polygon[(k + 1) % polygon.size()];
      const double at_a = within(a), at_b = within(b);
      if (at_a >= 0) kept.push_back(a);
      if ((at_a > 0 && at_b < 0) || (at_a < 0 && at_b > 0)) kept.push_back(a + (at_a / (at_a - at_b)) * (b - a));
    }
    polygon = std::move(kept);
  }
  return polygon.size() < 3 ? std::vector<Vec2>() : polygon;
}

bool is_convex(const std::vector<Vec2>& polygon) {
  const double sense = polygon_area(polygon) > 0 ? 1 : -1;
  const std::size_t n = polygon.size();
  for (std::size_t i = 0; i < n; ++i)
    if (sense * cross(polygon[(i + 1) % n] - polygon[i], polygon[(i + 2) % n] - polygon[(i + 1) % n]) < 0) return false;
  return n > 2;
}

}  // namespace bedwright
