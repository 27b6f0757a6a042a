#include "solid/bevel.h"

#include <cmath>

#include "base/error.h"

namespace bedwright {
namespace {

Vec2 crossing(const Curve& a, const Curve& b) {
  const Vec2 u = a.end - a.start, v = b.end - b.start;
  const double d = cross(u, v);
  if (std::fabs(d) < 1e-12) return a.end;
  return a.start + (cross(b.start - a.start, v) / d) * u;
}

[[noreturn]] void refuse() {
  throw CannotBuild("bevel-too-wide", "the chamfer along the lower edge is wider than the part allows",
                    "make bottom_chamfer_mm smaller");
}

}  // namespace

Loop moved_inward(const Loop& loop, double by) {
  if (loop.circle) {
    if (loop.radius <= 2 * by) refuse();
    return circle_loop(loop.centre, loop.radius - by, loop.facets);
  }
  std::vector<Curve> kept;
  for (const Curve& c : loop.curves) {
    Curve m = c;
    if (c.arc) {
      if (c.radius <= by * 1.5) continue;
      const double scale = (c.radius - by) / c.radius;
      m.radius = c.radius - by;
      m.start = c.centre + scale * (c.start - c.centre);
      m.end = c.centre + scale * (c.end - c.centre);
    } else {
      const Vec2 d = c.end - c.start;
      const Vec2 inward = (by / length(d)) * Vec2{-d.y, d.x};
      m.start = c.start + inward;
      m.end = c.end + inward;
    }
    kept.push_back(m);
  }
  if (kept.size() < 2) refuse();
  for (std::size_t i = 0; i < kept.size(); ++i) {
    Curve& a = kept[i];
    Curve& b = kept[(i + 1) % kept.size()];
    if (!a.arc && !b.arc)
      a.end = b.start = crossing(a, b);
    else if (a.arc)
      b.start = a.end;
    else
      a.end = b.start;
  }
  Loop r;
  r.facets = loop.facets;
  r.curves = kept;
  if (area(r) <= 0) refuse();
  return r;
}

}  // namespace bedwright
