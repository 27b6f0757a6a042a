// Offset outward: every curve moved, crossings found, and only what keeps its distance kept.
#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/loop.h"
#include "base/trig.h"

namespace bedwright {
namespace {

constexpr double same_mm = 1e-7;   // two ends that meet
constexpr double slack_mm = 1e-7;  // by which a moved curve may come nearer than it should: rounding only
// Where a joint turns by so little that moved ends part, or pass each other, by less than this squared, over `by`, they
// are one: off its true place by an eighth of it.
constexpr double joined_mm = 1.6e-6;
constexpr double straight_sine = 1e-6;

Vec2 heading(const Curve& c, Vec2 p) {
  if (!c.arc) return (1 / length(c.end - c.start)) * (c.end - c.start);
  const Vec2 out = (1 / c.radius) * (p - c.centre);
  return c.ccw ? Vec2{-out.y, out.x} : Vec2{out.y, -out.x};
}

/// Moved to the right of its heading; nothing where a hollow arc has no room.
bool moved(const Curve& c, double by, Curve& out) {
  out = c;
  if (!c.arc) {
    const Vec2 d = heading(c, c.start), away = by * Vec2{d.y, -d.x};
    out.start = c.start + away;
    out.end = c.end + away;
    return true;
  }
  out.radius = c.ccw ? c.radius + by : c.radius - by;
  if (out.radius <= same_mm) return false;
  const double share = out.radius / c.radius;
  out.start = c.centre + share * (c.start - c.centre);
  out.end = c.centre + share * (c.end - c.centre);
  return true;
}

Curve round_corner(Vec2 corner, Vec2 from, Vec2 to, double by) {
  Curve c;
  c.start = from;
  c.end = to;
  c.arc = true;
  c.centre = corner;
  c.radius = by;
  return c;
}

/// Share of the way along the curve.
double share_at(const Curve& c, Vec2 p) {
  if (!c.arc) {
    const Vec2 d = c.end - c.start;
    return dot(p - c.start, d) / dot(d, d);
  }
  const ArcSpan span = span_of(c);
  double turned = atan2_rad(p.y - c.centre.y, p.x - c.centre.x) - span.from;
  if (c.ccw)
    while (turned < -1e-9) turned += 2 * pi;
  else
    while (turned > 1e-9) turned -= 2 * pi;
  return turned / span.sweep;
}

Vec2 point_at(const Curve& c, double share) {
  if (!c.arc) return c.start + share * (c.end - c.start);
  const ArcSpan span = span_of(c);
  const double a = span.from + share * span.sweep;
  return c.centre + c.radius * Vec2{cos_rad(a), sin_rad(a)};
}

std::vector<Vec2> line_and_circle(Vec2 a, Vec2 b, Vec2 centre, double radius) {
  const Vec2 d = (1 / length(b - a)) * (b - a), to = centre - a;
  const double along = dot(to, d), off = cross(d, to), square = radius * radius - off * off;
  if (square < 0) return {};
  const double half = std::sqrt(square);
  return {a + (along - half) * d, a + (along + half) * d};
}

std::vector<Vec2> crossings(const Curve& a, const Curve& b) {
  if (!a.arc && !b.arc) {
    const Vec2 u = a.end - a.start, v = b.end - b.start;
    const double d = cross(u, v);
    if (std::fabs(d) < straight_sine * length(u) * length(v)) return {};
    return {a.start + (cross(b.start - a.start, v) / d) * u};
  }
  if (!a.arc) return line_and_circle(a.start, a.end, b.centre, b.radius);
  if (!b.arc) return line_and_circle(b.start, b.end, a.centre, a.radius);
  const Vec2 d = b.centre - a.centre;
  const double apart = length(d);
  if (apart < same_mm) return {};
  const double along = (apart * apart + a.radius * a.radius - b.radius * b.radius) / (2 * apart);
  const double square = a.radius * a.radius - along * along;
  if (square < 0) return {};
  const Vec2 u = (1 / apart) * d, foot = a.centre + along * u, side = std::sqrt(square) * Vec2{-u.y, u.x};
  return {foot + side, foot - side};
}

std::vector<Curve> raw_offset(const Loop& loop, double by) {
  const std::size_t n = loop.curves.size();
  std::vector<Curve> moved_curves(n);
  std::vector<bool> there(n);
  for (std::size_t i = 0; i < n; ++i) there[i] = moved(loop.curves[i], by, moved_curves[i]);
  std::vector<Curve> corners;
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t k = (i + 1) % n;
    const Vec2 corner = loop.curves[i].end, in = heading(loop.curves[i], corner), out = heading(loop.curves[k], corner);
    const double turn = cross(in, out);
    if (dot(in, out) > 0 && by * turn * turn < joined_mm) {
      if (!there[i] || !there[k]) continue;
      moved_curves[i].end = moved_curves[k].start = 0.5 * (moved_curves[i].end + moved_curves[k].start);
    } else if (turn > 0) {
      corners.push_back(round_corner(corner, corner + by * Vec2{in.y, -in.x}, corner + by * Vec2{out.y, -out.x}, by));
    }
  }
  std::vector<Curve> raw;
  for (std::size_t i = 0; i < n; ++i)
    if (there[i]) raw.push_back(moved_curves[i]);
  raw.insert(raw.end(), corners.begin(), corners.end());
  return raw;
}

/// Cut where they cross; what comes too near the loop, or lies in it, is left out.
std::vector<Curve> kept(const std::vector<Curve>& raw, const Loop& loop, double by) {
  std::vector<Curve> out;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    std::vector<double> cuts{0, 1};
    for (std::size_t k = 0; k < raw.size(); ++k)
      if (k != i)
        for (Vec2 p : crossings(raw[i], raw[k])) {
          const double mine = share_at(raw[i], p), theirs = share_at(raw[k], p);
          if (mine > 0 && mine < 1 && theirs > -1e-9 && theirs < 1 + 1e-9) cuts.push_back(mine);
        }
    std::sort(cuts.begin(), cuts.end());
    for (std::size_t k = 0; k + 1 < cuts.size(); ++k) {
      Curve piece = raw[i];
      piece.start = cuts[k] == 0 ? raw[i].start : point_at(raw[i], cuts[k]);
      piece.end = cuts[k + 1] == 1 ? raw[i].end : point_at(raw[i], cuts[k + 1]);
      if (length(piece.end - piece.start) < same_mm) continue;
      const Vec2 middle = point_at(raw[i], (cuts[k] + cuts[k + 1]) / 2);
      if (distance(loop, middle) < by - slack_mm || contains(loop, middle)) continue;
      out.push_back(piece);
    }
  }
  return out;
}

}  // namespace

Loop grown(const Loop& loop, double by) {
  if (loop.circle) return circle_loop(loop.centre, loop.radius + by, loop.facets);
  std::vector<Curve> pieces = kept(raw_offset(loop, by), loop, by);
  Loop best;
  double most = 0;
  while (!pieces.empty()) {
    Loop ring;
    ring.facets = loop.facets;
    ring.curves.push_back(pieces.front());
    pieces.erase(pieces.begin());
    const auto closed = [&] { return length(ring.curves.back().end - ring.curves.front().start) < 10 * same_mm; };
    while (!closed() || ring.curves.size() < 2) {
      const auto next = std::find_if(pieces.begin(), pieces.end(), [&](const Curve& c) {
        return length(c.start - ring.curves.back().end) < 10 * same_mm;
      });
      if (next == pieces.end()) break;
      ring.curves.push_back(*next);
      ring.curves.back().start = ring.curves[ring.curves.size() - 2].end;
      pieces.erase(next);
    }
    if (!closed()) continue;
    ring.curves.back().end = ring.curves.front().start;
    if (const double size = area(ring); size > most) {
      most = size;
      best = ring;
    }
  }
  if (best.curves.empty() || most < area(loop)) throw Error("the outline cannot be moved outward by that much");
  return best;
}

}  // namespace bedwright
