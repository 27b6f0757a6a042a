#include "survey/region.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/error.h"

namespace bedwright {

Region region_of(const std::vector<double>& v) {
  Region region;
  if (v.size() == 4) {
    const double x0 = std::min(v[0], v[2]), x1 = std::max(v[0], v[2]), y0 = std::min(v[1], v[3]),
                 y1 = std::max(v[1], v[3]);
    if (!(x1 > x0 && y1 > y0))
      throw BadUsage("--region: the box has no area; write X0,Y0,X1,Y1 of two opposite corners");
    region.corners = {{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}};
    return region;
  }
  if (v.size() < 6 || v.size() % 2 != 0)
    throw BadUsage("--region: write four numbers for a box, X0,Y0,X1,Y1, or X,Y of three corners or more");
  double area = 0;
  for (std::size_t i = 0; i < v.size(); i += 2) region.corners.push_back({v[i], v[i + 1]});
  for (std::size_t i = 0; i < region.corners.size(); ++i)
    area += cross(region.corners[i], region.corners[(i + 1) % region.corners.size()]);
  if (!(std::fabs(area) > 0)) throw BadUsage("--region: the polygon has no area; list its corners in order");
  return region;
}

bool holds(const Region& region, double x, double y) {
  bool inside = false;
  const std::vector<Vec2>& c = region.corners;
  for (std::size_t i = 0, j = c.size() - 1; i < c.size(); j = i++)
    if ((c[i].y > y) != (c[j].y > y) && x < (c[j].x - c[i].x) * (y - c[i].y) / (c[j].y - c[i].y) + c[i].x)
      inside = !inside;
  return inside;
}

namespace {

/// A box, said in the way that gives what `holds` gives on its borders.
struct Sides {
  double x0, x1, y0, y1;
  bool hold(Vec3 p) const { return (x0 <= p.x) & (p.x < x1) & (y0 <= p.y) & (p.y < y1); }
};
std::optional<Sides> sides_of(const Region& region) {
  const std::vector<Vec2>& c = region.corners;
  if (c.size() != 4 || c[0].y != c[1].y || c[1].x != c[2].x || c[2].y != c[3].y || c[3].x != c[0].x)
    return std::nullopt;
  return Sides{std::min(c[0].x, c[1].x), std::max(c[0].x, c[1].x), std::min(c[0].y, c[2].y), std::max(c[0].y, c[2].y)};
}

}  // namespace

std::size_t crop(Vec3* points, std::size_t count, const Region& region) {
  if (const std::optional<Sides> box = sides_of(region)) {
    // Every point is put down, and stays where it is inside: of scattered points no one foresees which.
    std::size_t n = 0;
    for (std::size_t i = 0; i < count; ++i) {
      const Vec3 p = points[i];
      points[n] = p;
      n += box->hold(p);
    }
    return n;
  }
  return static_cast<std::size_t>(
      std::remove_if(points, points + count, [&](const Vec3& p) { return !holds(region, p.x, p.y); }) - points);
}

std::size_t count_in(const Vec3* points, std::size_t count, const Region& region) {
  std::size_t n = 0;
  if (const std::optional<Sides> box = sides_of(region)) {
    for (std::size_t i = 0; i < count; ++i) n += box->hold(points[i]);
    return n;
  }
  for (std::size_t i = 0; i < count; ++i) n += holds(region, points[i].x, points[i].y);
  return n;
}

void crop(std::vector<Vec3>& points, const Region& region) {
  points.resize(crop(points.data(), points.size(), region));
}

}  // namespace bedwright
