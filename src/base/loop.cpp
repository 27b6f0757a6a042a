#include "base/loop.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/trig.h"

namespace bedwright {
namespace {

// Two vertices nearer than this many chord_mm are one: a shorter edge would only make slivers.
constexpr double merge_in_chords = 2.0;
// A vertex this near to the line through its neighbours carries no shape (a tangent join of line and arc).
constexpr double collinear_mm = 1e-6;

Vec2 direction(double angle_rad) {
  return {cos_rad(angle_rad), sin_rad(angle_rad)};
}
double angle_of(Vec2 v) {
  return atan2_rad(v.y, v.x);
}

double wrapped_positive(double angle_rad) {
  const double turn = 2 * pi;
  double a = angle_rad - turn * std::floor(angle_rad / turn);
  return a >= turn ? 0 : a;
}

/// Signed angle swept from start to end.
double sweep_of(const Curve& c) {
  const double a0 = angle_of(c.start - c.centre), a1 = angle_of(c.end - c.centre);
  return c.ccw ? wrapped_positive(a1 - a0) : -wrapped_positive(a0 - a1);
}

bool angle_within(const Curve& c, double sweep, Vec2 p) {
  const double a0 = angle_of(c.start - c.centre), a = angle_of(p - c.centre);
  return sweep > 0 ? wrapped_positive(a - a0) <= sweep : wrapped_positive(a0 - a) <= -sweep;
}

/// The same by the sides of the two radii alone: no angle.
bool within_radii(const Curve& c, Vec2 p) {
  const Vec2 from = (c.ccw ? c.start : c.end) - c.centre, to = (c.ccw ? c.end : c.start) - c.centre, at = p - c.centre;
  const bool after = cross(from, at) >= 0, before = cross(at, to) >= 0;
  return cross(from, to) >= 0 ? after && before : after || before;
}

/// Greatest angle of one facet that keeps it within chord of the circle on that side.
double facet_angle(double radius, double chord, Facets facets) {
  if (chord >= radius) return pi / 4;
  const double half = facets == Facets::inside ? acos_rad(1 - chord / radius) : acos_rad(radius / (radius + chord));
  return std::min(2 * half, pi / 4);
}

double triangle_height(Vec2 a, Vec2 v, Vec2 b) {
  const double base = length(b - a);
  return base > 0 ? std::fabs(cross(b - a, v - a)) / base : length(v - a);
}

/// A hole's arc (facets outside the circle) swaps sides when it is walked clockwise: material lies on the left.
void append_arc(std::vector<Vec2>& out, const Curve& c, double chord, Facets facets) {
  const double sweep = sweep_of(c);
  const double step = facet_angle(c.radius, chord, facets);
  const int count = std::max(1, static_cast<int>(std::ceil(std::fabs(sweep) / step - 1e-9)));
  const double a0 = angle_of(c.start - c.centre), part = sweep / count;
  out.push_back(c.start);
  if (facets == Facets::inside) {
    for (int k = 1; k < count; ++k) out.push_back(c.centre + c.radius * direction(a0 + k * part));
  } else {
    const double radius = c.radius / cos_rad(part / 2);
    for (int k = 0; k < count; ++k) out.push_back(c.centre + radius * direction(a0 + (k + 0.5) * part));
  }
}

std::vector<Vec2> cleaned(std::vector<Vec2> points, double chord) {
  bool changed = true;
  while (changed && points.size() > 3) {
    changed = false;
    for (std::size_t i = 0; i < points.size() && points.size() > 3; ++i) {
      const std::size_t n = points.size();
      const Vec2 before = points[(i + n - 1) % n], here = points[i], after = points[(i + 1) % n];
      if (length(after - here) < merge_in_chords * chord || triangle_height(before, here, after) < collinear_mm) {
        points.erase(points.begin() + static_cast<std::ptrdiff_t>(i));
        changed = true;
      }
    }
  }
  return points;
}

double segment_distance(Vec2 a, Vec2 b, Vec2 p) {
  const Vec2 d = b - a;
  const double l2 = dot(d, d);
  const double t = l2 > 0 ? std::clamp(dot(p - a, d) / l2, 0.0, 1.0) : 0.0;
  return length(p - (a + t * d));
}

/// Whether p lies between an arc and its chord: inside the circle, beyond the chord on the arc's side.
bool segment_contains(const Curve& c, Vec2 p) {
  if (std::fabs(p.x - c.centre.x) >= c.radius || std::fabs(p.y - c.centre.y) >= c.radius) return false;
  if (length(p - c.centre) >= c.radius) return false;
  const double side = cross(c.end - c.start, p - c.start);
  return c.ccw ? side < 0 : side > 0;
}

}  // namespace

ArcSpan span_of(const Curve& arc) {
  return {angle_of(arc.start - arc.centre), sweep_of(arc)};
}

Loop circle_loop(Vec2 centre, double radius, Facets facets) {
  Loop loop;
  loop.circle = true;
  loop.centre = centre;
  loop.radius = radius;
  loop.facets = facets;
  return loop;
}

Loop slot_loop(Vec2 centre, double radius, double extra, Vec2 along, Facets facets) {
  if (extra <= 0) return circle_loop(centre, radius, facets);
  const Vec2 across{-along.y, along.x};
  const Vec2 right = centre + (extra / 2) * along, left = centre - (extra / 2) * along;
  Loop loop;
  loop.facets = facets;
  Curve end;
  end.arc = true;
  end.radius = radius;
  end.ccw = true;
  const Vec2 a = right - radius * across, b = right + radius * across, c = left + radius * across,
             d = left - radius * across;
  end.centre = right;
  end.start = a;
  end.end = b;
  loop.curves.push_back(end);
  loop.curves.push_back({b, c});
  end.centre = left;
  end.start = c;
  end.end = d;
  loop.curves.push_back(end);
  loop.curves.push_back({d, a});
  return loop;
}

Loop teardrop_loop(Vec2 centre, double radius, Vec2 point, Facets facets) {
  return pointed_slot_loop(centre, radius, 0, point, point, facets);
}

Loop pointed_slot_loop(Vec2 centre, double radius, double extra, Vec2 along, Vec2 point, Facets facets) {
  const double half = std::sqrt(0.5);
  const Vec2 left{-point.y, point.x};
  const bool across = extra > 0 && std::fabs(dot(along, point)) < half;
  const Vec2 off = (extra / 2) * (across ? left : point);
  // The roof stands on both ends of a slot that lies across. Of another its flanks start at the straight walls, where
  // the tangents of the round end meet: what arcs there would be have too few facets to be seen as round.
  const Vec2 up_end = centre + off, low_end = centre - off;
  const Vec2 tip = centre + (radius / half + extra / 2) * point;
  Vec2 from = up_end + (radius * half) * (point + left),
       to = (across ? low_end : up_end) + (radius * half) * (point - left);
  Loop loop;
  loop.facets = facets;
  const auto arc = [&](Vec2 end_centre, Vec2 start, Vec2 end) {
    Curve round;
    round.arc = true;
    round.ccw = true;
    round.centre = end_centre;
    round.radius = radius;
    round.start = start;
    round.end = end;
    loop.curves.push_back(round);
  };
  if (!(extra > 0)) {
    arc(centre, from, to);
  } else if (across) {
    const Vec2 floor = radius * point;
    arc(up_end, from, up_end - floor);
    loop.curves.push_back({up_end - floor, low_end - floor});
    arc(low_end, low_end - floor, to);
  } else {
    const Vec2 wall = radius * left, corner = up_end + (radius * (1 / half - 1)) * point;
    from = corner + wall, to = corner - wall;
    loop.curves.push_back({from, low_end + wall});
    arc(low_end, low_end + wall, low_end - wall);
    loop.curves.push_back({low_end - wall, to});
  }
  loop.curves.push_back({to, tip});
  loop.curves.push_back({tip, from});
  return loop;
}

Loop polygon_loop(const std::vector<Vec2>& points) {
  if (points.size() < 3) throw Error("a polygon needs at least three points");
  std::vector<Vec2> p = points;
  if (polygon_area(p) < 0) std::reverse(p.begin(), p.end());
  Loop loop;
  for (std::size_t i = 0; i < p.size(); ++i) loop.curves.push_back({p[i], p[(i + 1) % p.size()]});
  return loop;
}

Loop rectangle_loop(Vec2 centre, Vec2 size, double corner_radius) {
  const double hx = size.x / 2, hy = size.y / 2;
  const double r = std::min({corner_radius, hx, hy});
  if (r <= 0)
    return polygon_loop(
        {centre + Vec2{-hx, -hy}, centre + Vec2{hx, -hy}, centre + Vec2{hx, hy}, centre + Vec2{-hx, hy}});
  const double ix = hx - r, iy = hy - r;
  return hull_of_circles(
      {centre + Vec2{-ix, -iy}, centre + Vec2{ix, -iy}, centre + Vec2{ix, iy}, centre + Vec2{-ix, iy}}, {r, r, r, r});
}

Loop hull_of_circles(const std::vector<Vec2>& centres, const std::vector<double>& radii) {
  if (centres.empty() || centres.size() != radii.size()) throw Error("a hull needs as many radii as centres");
  // Circles inside another never touch the hull; dropping them keeps the walk below free of special cases.
  std::vector<std::size_t> kept;
  for (std::size_t i = 0; i < centres.size(); ++i) {
    bool inside = false;
    for (std::size_t j = 0; j < centres.size() && !inside; ++j) {
      if (i == j) continue;
      const double room = radii[j] - radii[i] - length(centres[j] - centres[i]);
      const bool same = centres[i] == centres[j] && radii[i] == radii[j];
      inside = same ? j < i : room > -1e-9 && (room > 1e-9 || radii[j] > radii[i] || j < i);
    }
    if (!inside) kept.push_back(i);
  }
  if (kept.size() == 1) return circle_loop(centres[kept[0]], radii[kept[0]], Facets::inside);

  std::size_t first = kept[0];
  for (std::size_t i : kept) {
    const double low = centres[i].y - radii[i], best = centres[first].y - radii[first];
    if (low < best - 1e-12 || (low <= best + 1e-12 && centres[i].x > centres[first].x)) first = i;
  }
  // Walk counter-clockwise: the outward normal turns from straight down through a whole turn; at each step the next
  // circle is the one whose common tangent comes first.
  struct Tangent {
    std::size_t from, to;
    double angle;
  };
  std::vector<Tangent> tangents;
  std::size_t here = first;
  double angle = -pi / 2, turned = 0;
  while (tangents.size() <= 2 * kept.size()) {
    std::size_t next = here;
    double least = 0, reach = 0;
    for (std::size_t j : kept) {
      if (j == here) continue;
      const Vec2 d = centres[j] - centres[here];
      const double distance_to = length(d);
      const double ratio = (radii[here] - radii[j]) / distance_to;
      if (ratio >= 1 || ratio <= -1) continue;
      double step = wrapped_positive(angle_of(d) - acos_rad(ratio) - angle);
      if (step > 2 * pi - 1e-9) step = 0;
      if (next == here || step < least - 1e-12 || (step <= least + 1e-12 && distance_to > reach)) {
        next = j;
        least = step;
        reach = distance_to;
      }
    }
    if (turned + least > 2 * pi + 1e-9) break;
    turned += least;
    angle += least;
    tangents.push_back({here, next, angle});
    here = next;
  }
  Loop loop;
  for (std::size_t i = 0; i < tangents.size(); ++i) {
    const Tangent& in = tangents[i];
    const Tangent& out = tangents[(i + 1) % tangents.size()];
    const Vec2 u = direction(in.angle);
    const Vec2 a = centres[in.from] + radii[in.from] * u, b = centres[in.to] + radii[in.to] * u;
    loop.curves.push_back({a, b});
    if (radii[in.to] > 0) {
      Curve arc;
      arc.start = b;
      arc.end = centres[in.to] + radii[in.to] * direction(out.angle);
      arc.arc = true;
      arc.centre = centres[in.to];
      arc.radius = radii[in.to];
      if (length(arc.end - arc.start) > 1e-12) loop.curves.push_back(arc);
    }
  }
  return loop;
}

Loop transformed(const Loop& loop, const Transform& t) {
  const auto move = [&](Vec2 p) {
    const Vec3 q = apply(t, {p.x, p.y, 0});
    return Vec2{q.x, q.y};
  };
  const auto& m = t.m;
  const bool mirror = m[0] * m[5] - m[1] * m[4] < 0;
  Loop r = loop;
  r.centre = move(loop.centre);
  for (Curve& c : r.curves) {
    c.start = move(c.start);
    c.end = move(c.end);
    c.centre = move(c.centre);
    if (mirror) std::swap(c.start, c.end);  // walking the mirrored curve backwards keeps its turning sense
  }
  if (mirror) std::reverse(r.curves.begin(), r.curves.end());
  return r;
}

int facets_of_circle(double radius, double chord_mm) {
  // The outside rule is the stricter one, so holes and bosses of one size get the same count.
  const double step = facet_angle(radius, chord_mm, Facets::outside);
  const int count = static_cast<int>(std::ceil(2 * pi / step - 1e-9));
  return std::max(8, count + count % 2);
}

std::vector<Vec2> polygonised(const Loop& loop, double chord_mm) {
  std::vector<Vec2> points;
  if (loop.circle) {
    const int n = facets_of_circle(loop.radius, chord_mm);
    const double radius = loop.facets == Facets::inside ? loop.radius : loop.radius / cos_rad(pi / n);
    for (int k = 0; k < n; ++k) points.push_back(loop.centre + radius * direction((2 * k + 1) * pi / n));
    return points;
  }
  for (const Curve& c : loop.curves) {
    if (c.arc) {
      const Facets side = c.ccw ? loop.facets : loop.facets == Facets::inside ? Facets::outside : Facets::inside;
      append_arc(points, c, chord_mm, side);
    } else {
      points.push_back(c.start);
    }
  }
  return cleaned(std::move(points), chord_mm);
}

PlaneBox bounding_box(const Loop& loop) {
  if (loop.circle) {
    const Vec2 r{loop.radius, loop.radius};
    return {loop.centre - r, loop.centre + r};
  }
  PlaneBox box{loop.curves.front().start, loop.curves.front().start};
  const auto grow = [&](Vec2 p) {
    box.low = {std::min(box.low.x, p.x), std::min(box.low.y, p.y)};
    box.high = {std::max(box.high.x, p.x), std::max(box.high.y, p.y)};
  };
  for (const Curve& c : loop.curves) {
    grow(c.start);
    if (!c.arc) continue;
    const double sweep = sweep_of(c);
    for (const Vec2 d : {Vec2{1, 0}, Vec2{0, 1}, Vec2{-1, 0}, Vec2{0, -1}}) {
      const Vec2 p = c.centre + c.radius * d;
      if (angle_within(c, sweep, p)) grow(p);
    }
  }
  return box;
}

double area(const Loop& loop) {
  if (loop.circle) return pi * loop.radius * loop.radius;
  double twice = 0;
  for (const Curve& c : loop.curves) {
    twice += cross(c.start, c.end);
    if (c.arc) {
      const double sweep = sweep_of(c);
      twice += c.radius * c.radius * (sweep - sin_rad(sweep));
    }
  }
  return twice / 2;
}

bool contains(const Loop& loop, Vec2 p) {
  if (loop.circle)
    return std::fabs(p.x - loop.centre.x) < loop.radius && std::fabs(p.y - loop.centre.y) < loop.radius &&
           length(p - loop.centre) < loop.radius;
  // In the polygon of the chords, or between one and its arc.
  bool inside = false;
  for (const Curve& c : loop.curves) {
    const Vec2 a = c.start, b = c.end;
    if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)) inside = !inside;
    if (c.arc && segment_contains(c, p)) inside = !inside;
  }
  return inside;
}

double distance(const Loop& loop, Vec2 p) {
  if (loop.circle) return std::fabs(length(p - loop.centre) - loop.radius);
  double best = length(p - loop.curves.front().start);
  for (const Curve& c : loop.curves) {
    double d;
    if (c.arc && within_radii(c, p))
      d = std::fabs(length(p - c.centre) - c.radius);
    else
      d = c.arc ? std::min(length(p - c.start), length(p - c.end)) : segment_distance(c.start, c.end, p);
    best = std::min(best, d);
  }
  return best;
}

double polygon_area(const std::vector<Vec2>& points) {
  double twice = 0;
  for (std::size_t i = 0; i < points.size(); ++i) twice += cross(points[i], points[(i + 1) % points.size()]);
  return twice / 2;
}

}  // namespace bedwright
