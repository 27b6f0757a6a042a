#include "base/clipped.h"

#include "base/loop.h"

namespace bedwright {

std::vector<Vec2> clipped(const std::vector<Vec2>& polygon, Vec2 at, Vec2 out, double inside) {
  const auto in = [&](Vec2 p) { return dot(at - p, out) - inside; };
  std::vector<Vec2> kept;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec2 a = polygon[i], b = polygon[(i + 1) % polygon.size()];
    const double p = in(a), q = in(b);
    if (p >= 0) kept.push_back(a);
    if ((p > 0 && q < 0) || (p < 0 && q > 0)) kept.push_back(a + (p / (p - q)) * (b - a));
  }
  return kept;
}

std::vector<Vec2> clipped(std::vector<Vec2> polygon, const std::vector<Vec2>& convex) {
  const double sense = polygon_area(convex) > 0 ? 1 : -1;
  for (std::size_t i = 0; i < convex.size(); ++i) {
    const Vec2 along = convex[(i + 1) % convex.size()] - convex[i];
    polygon = clipped(polygon, convex[i], sense / length(along) * Vec2{along.y, -along.x}, 0);
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
