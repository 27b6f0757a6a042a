#include "parts/grouping.h"

#include <algorithm>
#include <cmath>

namespace bedwright {
namespace {

// Points taken on a profile are vertices on its true curves, this far between curve and chord.
constexpr double sample_chord_mm = 0.02;
constexpr int seat_grid = 12;  // points across a seat's box, either way
constexpr int most_seat_grid = 400;

Transform mirror_in_x() {
  Transform t;
  t.m[0] = -1;
  return t;
}

std::vector<Vec2> points_on(const Loop& loop) {
  Loop on = loop;
  on.facets = Facets::inside;
  return polygonised(on, sample_chord_mm);
}

/// Whether p is within same_shape_mm of the curve: distance()'s answer, its trigonometry left to the few points it
/// takes.
bool near(const Loop& one, Vec2 p) {
  const Curve& c = one.curves.front();
  if (c.arc) {
    if (length(p - c.start) <= same_shape_mm || length(p - c.end) <= same_shape_mm) return true;
    if (std::fabs(length(p - c.centre) - c.radius) > same_shape_mm) return false;
  }
  return distance(one, p) <= same_shape_mm;
}

bool lies_on(const Loop& a, const Loop& b) {
  std::vector<Loop> curves;
  for (const Curve& c : b.curves) {
    curves.emplace_back();
    curves.back().curves = {c};
  }
  const auto on_b = [&](Vec2 p) {
    if (b.circle) return distance(b, p) <= same_shape_mm;
    return std::any_of(curves.begin(), curves.end(), [&](const Loop& one) { return near(one, p); });
  };
  const std::vector<Vec2> points = points_on(a);
  return std::all_of(points.begin(), points.end(), on_b);
}

bool same_loop(const Loop& a, const Loop& b) {
  if (a.facets != b.facets) return false;
  if (a.circle && b.circle) return length(a.centre - b.centre) + std::fabs(a.radius - b.radius) <= same_shape_mm;
  // Points of one on the other bound the boxes to a chord; most pairs differ by far more.
  const PlaneBox p = bounding_box(a), q = bounding_box(b);
  const double apart = std::max({std::fabs(p.low.x - q.low.x), std::fabs(p.low.y - q.low.y),
                                 std::fabs(p.high.x - q.high.x), std::fabs(p.high.y - q.high.y)});
  return apart <= 2 * sample_chord_mm + same_shape_mm && lies_on(a, b) && lies_on(b, a);
}

bool same_bound(const Bound& a, const Bound& b) {
  return a.kind == b.kind && (a.kind != Bound::Kind::flat || std::fabs(a.z_mm - b.z_mm) <= same_shape_mm);
}

bool shapes_body(const Feature& f) {
  return f.kind != FeatureKind::mark;
}

bool same_feature(const Feature& a, const Feature& b, const Transform& t) {
  if (a.kind != b.kind || a.effect != b.effect || a.profile.size() != b.profile.size()) return false;
  // No family that has a hand, or serves several places, crosses: turned, such a feature counts as another.
  const bool turned = t.m[0] != 1 || t.m[5] != 1;
  if (a.along != b.along || (crosses(a) && turned)) return false;
  if (!same_bound(a.from, b.from) || !same_bound(a.to, b.to)) return false;
  if (a.upper_chamfer != b.upper_chamfer) return false;
  if (std::fabs(a.chamfer_mm - b.chamfer_mm) > same_shape_mm) return false;
  std::vector<bool> used(a.profile.size(), false);
  for (const Loop& loop : b.profile) {
    const Loop there = transformed(loop, t);
    bool found = false;
    for (std::size_t i = 0; i < a.profile.size() && !found; ++i)
      if (!used[i] && same_loop(a.profile[i], there)) found = used[i] = true;
    if (!found) return false;
  }
  return true;
}

/// Points across a box so close that between them two measured surfaces part by no more than half of same_shape_mm
/// above what they do at them: their difference bends by both bounds together.
int grid_of(const Part& part, const PlaneBox& box) {
  if (part.seat.shape != SurfaceShape::measured) return seat_grid;
  double reach = 0;
  for (const double x : {box.low.x, box.high.x})
    for (const double y : {box.low.y, box.high.y}) reach = std::max(reach, length(Vec2{x, y} - part.seat.apex));
  const double bend = 2 * curvature_bound(part.seat, reach);
  const double step = bend > 0 ? std::sqrt(2 * 0.5 * same_shape_mm / bend) : 1e9;  // half diagonals stay below it
  const double side = std::max(box.high.x - box.low.x, box.high.y - box.low.y);
  return std::clamp(static_cast<int>(std::ceil(side / step)), seat_grid, most_seat_grid);
}

bool same_seat(const Part& a, const Part& b, const Transform& t) {
  const Surface there = transformed(b.seat, t);
  if (a.seat.shape == SurfaceShape::plane && there.shape == SurfaceShape::plane && a.seat.slope == Vec2{} &&
      there.slope == Vec2{})
    return std::fabs(a.seat.height - there.height) <= same_shape_mm;
  const auto agree = [&](Vec2 p) { return std::fabs(height_at(a.seat, p) - height_at(there, p)) <= same_shape_mm; };
  for (const Feature& f : a.features) {
    if (f.kind != FeatureKind::seat && f.kind != FeatureKind::outline) continue;
    for (const Loop& loop : f.profile) {
      for (Vec2 p : points_on(loop))
        if (!agree(p)) return false;
      const PlaneBox box = bounding_box(loop);
      const int grid = grid_of(a, box);
      for (int i = 0; i <= grid; ++i)
        for (int j = 0; j <= grid; ++j) {
          const Vec2 p{box.low.x + (box.high.x - box.low.x) * i / grid,
                       box.low.y + (box.high.y - box.low.y) * j / grid};
          if (!agree(p) && contains(loop, p)) return false;
        }
    }
  }
  return true;
}

bool on_left(const std::string& placement) {
  return placement.size() >= 4 && placement.compare(placement.size() - 4, 4, "left") == 0;
}

std::string suffix(std::size_t index) {
  return "-" + std::string(1, static_cast<char>('a' + index));
}

}  // namespace

bool same_shape(const Part& a, const Part& b, const Transform& t) {
  std::vector<const Feature*> mine, theirs;
  for (const Feature& f : a.features)
    if (shapes_body(f)) mine.push_back(&f);
  for (const Feature& f : b.features)
    if (shapes_body(f)) theirs.push_back(&f);
  if (mine.size() != theirs.size() || a.family != b.family || a.material != b.material) return false;
  std::vector<bool> used(mine.size(), false);
  for (const Feature* f : theirs) {
    bool found = false;
    for (std::size_t i = 0; i < mine.size() && !found; ++i)
      if (!used[i] && same_feature(*mine[i], *f, t)) found = used[i] = true;
    if (!found) return false;
  }
  return same_seat(a, b, t);
}

std::vector<int> turns_between(const Part& part, const Part& other) {
  std::vector<int> turns;
  for (int quarter = 0; quarter < 4; ++quarter)
    if (same_shape(other, part, quarter_turn(2, quarter))) turns.push_back(quarter);
  return turns;
}

bool mirror_images(const Part& part, const Part& other) {
  for (int quarter = 0; quarter < 4; ++quarter)
    if (same_shape(other, part, compose(quarter_turn(2, quarter), mirror_in_x()))) return true;
  return false;
}

std::vector<Part> grouped(std::vector<Part> candidates) {
  std::vector<Part> distinct;
  for (Part& candidate : candidates) {
    bool merged = false;
    for (Part& part : distinct) {
      const std::vector<int> turns = turns_between(part, candidate);
      if (turns.empty()) continue;
      part.placements.insert(part.placements.end(), candidate.placements.begin(), candidate.placements.end());
      part.quarter_turns.push_back(turns.front());
      ++part.quantity;
      merged = true;
      break;
    }
    if (merged) continue;
    candidate.quantity = 1;
    candidate.quarter_turns = {0};
    distinct.push_back(std::move(candidate));
  }
  for (std::size_t i = 0; i < distinct.size(); ++i) distinct[i].id += suffix(i);
  for (std::size_t i = 0; i < distinct.size(); ++i)
    for (std::size_t j = i + 1; j < distinct.size(); ++j) {
      Part &first = distinct[i], &second = distinct[j];
      if (first.hand != Hand::none || second.hand != Hand::none || !mirror_images(first, second)) continue;
      const bool swap = !on_left(first.placements.front()) && on_left(second.placements.front());
      first.hand = swap ? Hand::right : Hand::left;
      second.hand = swap ? Hand::left : Hand::right;
      second.mirror_of = first.id;
    }
  return distinct;
}

}  // namespace bedwright
