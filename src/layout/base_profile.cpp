#include "layout/base_profile.h"

#include <algorithm>
#include <cmath>

namespace bedwright {
namespace {

constexpr double slab_mm = 10;
constexpr double same_mm = 1e-9;
/// Beside a corner's x, so that a line through it meets no edge's end.
constexpr double beside_mm = 1e-7;

/// Where a line x = const is inside the outline.
std::vector<Span> inside_at(const std::vector<Vec2>& outline, double x) {
  std::vector<double> crossings;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 a = outline[i], b = outline[(i + 1) % outline.size()];
    if ((a.x <= x) == (b.x <= x)) continue;
    crossings.push_back(a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
  }
  std::sort(crossings.begin(), crossings.end());
  std::vector<Span> spans;
  for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) spans.push_back({crossings[i], crossings[i + 1]});
  return spans;
}

std::vector<Span> common(const std::vector<Span>& a, const std::vector<Span>& b) {
  std::vector<Span> both;
  for (const Span& p : a)
    for (const Span& q : b) {
      const Span s{std::max(p.from, q.from), std::min(p.to, q.to)};
      if (s.to - s.from > same_mm) both.push_back(s);
    }
  return both;
}

std::vector<Span> without(const std::vector<Span>& spans, Span hole) {
  std::vector<Span> left;
  for (const Span& s : spans) {
    if (hole.to <= s.from || hole.from >= s.to) {
      left.push_back(s);
      continue;
    }
    if (hole.from > s.from) left.push_back({s.from, hole.from});
    if (hole.to < s.to) left.push_back({hole.to, s.to});
  }
  return left;
}

double distance_to_rectangle(const BaseArea& area, Vec2 p) {
  const Vec2 beyond{std::max({area.low.x - p.x, p.x - area.high.x, 0.0}),
                    std::max({area.low.y - p.y, p.y - area.high.y, 0.0})};
  return length(beyond);
}

double distance_to_segment(Vec2 p, Vec2 a, Vec2 b) {
  const Vec2 along = b - a;
  const double square = dot(along, along);
  const double t = square > 0 ? std::clamp(dot(p - a, along) / square, 0.0, 1.0) : 0;
  return length(p - (a + t * along));
}

}  // namespace

double base_face_mm(const Kit& kit) {
  return -kit.carriages.size.assembly_height_mm - kit.rails.lift_mm;
}

std::vector<Span> backed_spans(const BaseProfile& base, double x, double half_width) {
  // Between two corners' x the outline is straight: the least cover is at the strip's edges or beside a corner.
  std::vector<double> lines = {x - half_width + beside_mm, x + half_width - beside_mm};
  for (Vec2 corner : base.outline_mm)
    if (std::fabs(corner.x - x) < half_width)
      for (const double side : {-beside_mm, beside_mm}) lines.push_back(corner.x + side);
  std::vector<Span> spans = inside_at(base.outline_mm, lines.front());
  for (double line : lines) spans = common(spans, inside_at(base.outline_mm, line));
  for (const BaseArea& o : base.openings)
    if (o.high.x > x - half_width && o.low.x < x + half_width) spans = without(spans, {o.low.y, o.high.y});
  return spans;
}

bool base_holds(const BaseProfile& base, Vec2 at, double wall) {
  const std::vector<Span> spans = inside_at(base.outline_mm, at.x);
  if (std::none_of(spans.begin(), spans.end(), [&](const Span& s) { return s.from <= at.y && at.y <= s.to; }))
    return false;
  for (std::size_t i = 0; i < base.outline_mm.size(); ++i)
    if (distance_to_segment(at, base.outline_mm[i], base.outline_mm[(i + 1) % base.outline_mm.size()]) < wall)
      return false;
  return std::none_of(base.openings.begin(), base.openings.end(),
                      [&](const BaseArea& o) { return distance_to_rectangle(o, at) < wall; });
}

std::vector<BaseBody> base_bodies(const Kit& kit, double depth_mm) {
  std::vector<BaseBody> bodies;
  if (!kit.base) return bodies;
  const std::vector<Vec2>& outline = kit.base->outline_mm;
  const double face = base_face_mm(kit);
  std::vector<double> cuts;
  for (Vec2 p : outline) cuts.push_back(p.x);
  std::sort(cuts.begin(), cuts.end());
  cuts.erase(std::unique(cuts.begin(), cuts.end(), [](double a, double b) { return b - a < same_mm; }), cuts.end());
  for (std::size_t c = 0; c + 1 < cuts.size(); ++c) {
    const double left = cuts[c] + beside_mm, right = cuts[c + 1] - beside_mm;
    if (right <= left) continue;
    const std::vector<Span> first = inside_at(outline, left), last = inside_at(outline, right);
    bool slants = first.size() != last.size();
    for (std::size_t i = 0; i < std::min(first.size(), last.size()); ++i)
      slants = slants || std::fabs(first[i].from - last[i].from) > 1e-6 || std::fabs(first[i].to - last[i].to) > 1e-6;
    const int pieces = slants ? std::max(1, static_cast<int>(std::ceil((right - left) / slab_mm))) : 1;
    for (int k = 0; k < pieces; ++k) {
      const double a = left + (right - left) * k / pieces, b = left + (right - left) * (k + 1) / pieces;
      const std::vector<Span> at_a = inside_at(outline, a), at_b = inside_at(outline, b);
      for (std::size_t i = 0; i < std::min(at_a.size(), at_b.size()); ++i)
        bodies.push_back({"base",
                          {{a - beside_mm, std::min(at_a[i].from, at_b[i].from), face - depth_mm},
                           {b + beside_mm, std::max(at_a[i].to, at_b[i].to), face}}});
    }
  }
  for (const BaseArea& area : kit.base->raised)
    bodies.push_back({"the base's " + area.id,
                      {{area.low.x, area.low.y, face - depth_mm}, {area.high.x, area.high.y, face + area.height_mm}}});
  return bodies;
}

}  // namespace bedwright
