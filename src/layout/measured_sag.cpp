#include "layout/measured_sag.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/trig.h"

namespace bedwright {
namespace {

constexpr int first_pieces = 8;    // of a curve
constexpr int first_cells = 4;     // of a box, either way
constexpr int most_halvings = 40;  // to rounding, whatever the bound

struct Searched {
  const Surface& surface;
  double bend;  ///< bound of the second directional derivative over everything searched
  double least = 1e300, greatest = -1e300;

  void take(double sag) {
    least = std::min(least, sag);
    greatest = std::max(greatest, sag);
  }
  bool beaten(double low, double high) const {
    return low > least - measured_sag_tolerance_mm && high < greatest + measured_sag_tolerance_mm;
  }
};

/// A curve by its parameter in 0 .. 1, with its speed and the size of its second derivative.
struct Path {
  Vec2 start, along;  ///< straight
  bool arc = false;
  Vec2 centre{};
  double radius = 0, from = 0, sweep = 0;

  Vec2 at(double t) const {
    if (!arc) return start + t * along;
    const double angle = from + t * sweep;
    return centre + radius * Vec2{cos_rad(angle), sin_rad(angle)};
  }
  double speed() const { return arc ? radius * std::fabs(sweep) : length(along); }
  double turn() const { return arc ? radius * sweep * sweep : 0; }
};

void search_piece(Searched& s, const Path& path, double t, double half, int depth) {
  const Vec2 p = path.at(t), g = gradient_at(s.surface, p);
  const double value = sag_at(s.surface, p), speed = path.speed();
  s.take(value);
  // Chords of the piece stay within half * speed of p, so the gradient grows by bend times that at most.
  const double reach = half * speed, steep = length(g) + s.bend * reach;
  const double second = s.bend * speed * speed + steep * path.turn();
  Vec2 tangent = path.along;
  if (path.arc) {
    const Vec2 d = p - path.centre;
    tangent = path.sweep * Vec2{-d.y, d.x};
  }
  const double spread = std::fabs(dot(g, tangent)) * half + second * half * half / 2;
  if (spread <= measured_sag_tolerance_mm || depth == most_halvings || s.beaten(value - spread, value + spread)) return;
  search_piece(s, path, t - half / 2, half / 2, depth + 1);
  search_piece(s, path, t + half / 2, half / 2, depth + 1);
}

void search_path(Searched& s, const Path& path) {
  s.take(sag_at(s.surface, path.at(0)));
  s.take(sag_at(s.surface, path.at(1)));
  for (int k = 0; k < first_pieces; ++k) search_piece(s, path, (k + 0.5) / first_pieces, 0.5 / first_pieces, 0);
}

/// Extremes inside, where the gradient is nothing. Those within a cell's size of the edge are also found on it.
void search_cell(Searched& s, const Loop& loop, Vec2 centre, Vec2 half, int depth) {
  const double r = length(half), steep = length(gradient_at(s.surface, centre));
  if (steep > s.bend * r) return;
  const double spread = steep * r + s.bend * r * r / 2;
  const double value = sag_at(s.surface, centre);
  if (s.beaten(value - spread, value + spread)) return;
  // Of three such spreads none is lost: a stationary point and the loop's edge or the centre lie within 2 r.
  if (4 * spread <= measured_sag_tolerance_mm || depth == most_halvings) {
    if (contains(loop, centre)) s.take(value);
    return;
  }
  if (!contains(loop, centre) && distance(loop, centre) > r) return;
  if (contains(loop, centre)) s.take(value);
  const Vec2 quarter = 0.5 * half;
  for (const double sx : {-1.0, 1.0})
    for (const double sy : {-1.0, 1.0})
      search_cell(s, loop, centre + Vec2{sx * quarter.x, sy * quarter.y}, quarter, depth + 1);
}

double reach_of(const Surface& surface, const std::vector<PlaneBox>& boxes) {
  double reach = 0;
  for (const PlaneBox& b : boxes)
    for (const double x : {b.low.x, b.high.x})
      for (const double y : {b.low.y, b.high.y}) reach = std::max(reach, length(Vec2{x, y} - surface.apex));
  return reach;
}

}  // namespace

SagRange measured_sag_over(const Surface& surface, const std::vector<Loop>& loops) {
  Surface bare = surface;  // sag has no part of the added plane
  bare.slope = {};
  std::vector<PlaneBox> boxes;
  for (const Loop& loop : loops) boxes.push_back(bounding_box(loop));
  Searched s{bare, curvature_bound(bare, reach_of(bare, boxes))};
  for (std::size_t k = 0; k < loops.size(); ++k) {
    const Loop& loop = loops[k];
    if (loop.circle) search_path(s, {{}, {}, true, loop.centre, loop.radius, 0, 2 * pi});
    for (const Curve& c : loop.curves) {
      if (!c.arc) {
        search_path(s, {c.start, c.end - c.start, false, {}, 0, 0, 0});
        continue;
      }
      const ArcSpan span = span_of(c);
      search_path(s, {{}, {}, true, c.centre, c.radius, span.from, span.sweep});
    }
    const Vec2 half = (0.5 / first_cells) * (boxes[k].high - boxes[k].low);
    for (int i = 0; i < first_cells; ++i)
      for (int j = 0; j < first_cells; ++j)
        search_cell(s, loop, boxes[k].low + Vec2{(2 * i + 1) * half.x, (2 * j + 1) * half.y}, half, 0);
  }
  return {s.least, s.greatest};
}

}  // namespace bedwright
