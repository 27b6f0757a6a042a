#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/trig.h"
#include "layout/layout.h"
#include "layout/measured_sag.h"

namespace bedwright {
namespace {

constexpr double golden = 0.6180339887498949;
constexpr int golden_steps = 80;  // shrinks a bracket by 2e-17: to rounding
constexpr int arc_samples = 48;   // brackets on an arc; the sag of one arc has at most four extremes

/// Least of f over [low, high], where it is convex.
template <typename F>
double least_of(const F& f, double low, double high) {
  double a = high - golden * (high - low), b = low + golden * (high - low);
  double fa = f(a), fb = f(b);
  double best = std::min({f(low), f(high), fa, fb});
  for (int i = 0; i < golden_steps; ++i) {
    if (fa < fb) {
      high = b;
      b = a;
      fb = fa;
      a = high - golden * (high - low);
      fa = f(a);
    } else {
      low = a;
      a = b;
      fa = fb;
      b = low + golden * (high - low);
      fb = f(b);
    }
    best = std::min({best, fa, fb});
  }
  return best;
}

struct Range {
  bool empty = true;
  SagRange range;
  void take(double sag) {
    range.least = empty ? sag : std::min(range.least, sag);
    range.greatest = empty ? sag : std::max(range.greatest, sag);
    empty = false;
  }
};

void take_line(const Surface& s, Vec2 a, Vec2 b, Range& r) {
  r.take(sag_at(s, a));
  r.take(sag_at(s, b));
  r.take(least_of([&](double t) { return sag_at(s, a + t * (b - a)); }, 0, 1));
}

void take_arc(const Surface& s, Vec2 centre, double radius, double from, double sweep, Range& r) {
  const auto sag = [&](double t) {
    const double angle = from + t * sweep;
    return sag_at(s, centre + radius * Vec2{cos_rad(angle), sin_rad(angle)});
  };
  double value[arc_samples + 1];
  for (int k = 0; k <= arc_samples; ++k) r.take(value[k] = sag(static_cast<double>(k) / arc_samples));
  const bool closed = std::fabs(sweep) > 2 * pi - 1e-9;
  for (int k = 0; k <= arc_samples; ++k) {
    if (!closed && (k == 0 || k == arc_samples)) continue;
    const double before = value[k == 0 ? arc_samples - 1 : k - 1];
    const double after = value[k == arc_samples ? 1 : k + 1];
    const double low = (k - 1.0) / arc_samples, high = (k + 1.0) / arc_samples;
    if (value[k] <= before && value[k] <= after) r.take(least_of(sag, low, high));
    if (value[k] >= before && value[k] >= after) r.take(-least_of([&](double t) { return -sag(t); }, low, high));
  }
  // An extreme within the first or last step of an open arc has no sample on its other side.
  if (!closed)
    for (const double low : {0.0, 1.0 - 1.0 / arc_samples}) {
      r.take(least_of(sag, low, low + 1.0 / arc_samples));
      r.take(-least_of([&](double t) { return -sag(t); }, low, low + 1.0 / arc_samples));
    }
}

/// A sphere's sag grows with the distance from its apex, a cylinder's with that from its ridge: what is nearest and
/// farthest has it least and greatest.
bool grows_outward(const Surface& s) {
  return s.shape == SurfaceShape::sphere || s.shape == SurfaceShape::cylinder;
}

/// From the apex or the ridge to p.
Vec2 outward(const Surface& s, Vec2 p) {
  const Vec2 off = p - s.apex;
  return s.shape == SurfaceShape::sphere ? off : dot(off, s.local_x) * s.local_x;
}

void take_outward_line(const Surface& s, Vec2 a, Vec2 b, Range& r) {
  r.take(sag_at(s, a));
  r.take(sag_at(s, b));
  const Vec2 from = outward(s, a), way = outward(s, b) - from;
  const double square = dot(way, way);
  if (square > 0) r.take(sag_at(s, a + std::clamp(-dot(from, way) / square, 0.0, 1.0) * (b - a)));
}

void take_outward_arc(const Surface& s, Vec2 centre, double radius, double from, double sweep, Range& r) {
  const auto at = [&](double angle) { return centre + radius * Vec2{cos_rad(angle), sin_rad(angle)}; };
  r.take(sag_at(s, at(from)));
  r.take(sag_at(s, at(from + sweep)));
  const auto take_if_on = [&](Vec2 way) {
    double turn = (atan2_rad(way.y, way.x) - from) * (sweep < 0 ? -1 : 1);
    turn -= 2 * pi * std::floor(turn / (2 * pi));
    if (turn <= std::fabs(sweep)) r.take(sag_at(s, centre + radius * way));
  };
  const Vec2 out = outward(s, centre);
  const double far = length(out);
  const Vec2 way = s.shape == SurfaceShape::cylinder ? s.local_x : far > 0 ? (1 / far) * out : Vec2{1, 0};
  take_if_on(way);
  take_if_on(-way);
  if (s.shape != SurfaceShape::cylinder) return;
  // Where the arc crosses the ridge.
  const double along = -dot(centre - s.apex, s.local_x) / radius;
  if (std::fabs(along) >= 1) return;
  const double across = std::sqrt(1 - along * along);
  for (const double side : {across, -across}) take_if_on(along * s.local_x + side * s.local_y);
}

}  // namespace

SagRange sag_over(const Surface& surface, const std::vector<Loop>& loops) {
  if (loops.empty()) throw Error("the sag is asked for over no area");
  if (surface.shape == SurfaceShape::plane) return {};
  if (surface.shape == SurfaceShape::measured) return measured_sag_over(surface, loops);
  Range r;
  const auto line = grows_outward(surface) ? take_outward_line : take_line;
  const auto arc = grows_outward(surface) ? take_outward_arc : take_arc;
  for (const Loop& loop : loops) {
    // Sag is convex: its greatest value over an area is on the edge, its least at the apex or on the edge.
    if (contains(loop, surface.apex)) r.take(0);
    if (loop.circle) arc(surface, loop.centre, loop.radius, 0, 2 * pi, r);
    for (const Curve& c : loop.curves) {
      if (!c.arc) {
        line(surface, c.start, c.end, r);
        continue;
      }
      const ArcSpan span = span_of(c);
      arc(surface, c.centre, c.radius, span.from, span.sweep, r);
    }
  }
  // A cylinder's ridge line crosses an area without its apex being in it: the edge then has the value already,
  // because every chord along the ridge ends there.
  return r.range;
}

}  // namespace bedwright
