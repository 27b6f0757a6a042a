#include "parts/pointed_holes.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"

namespace bedwright {
namespace {

constexpr double same_axis_mm = 0.01;
// The flanks end where the circle is at 45 degrees; from there to the tip this many places are looked at.
constexpr int places = 8;

bool is_round_cut(const Feature& f) {
  return f.effect == Effect::cut && f.along == Along::z && f.profile.size() == 1 && f.profile.front().circle;
}

bool may_be_pointed(const Feature& f) {
  return is_round_cut(f) && (f.kind == FeatureKind::clearance_hole || f.kind == FeatureKind::counterbore);
}

bool coaxial(const Feature& a, const Feature& b) {
  return is_round_cut(a) && is_round_cut(b) &&
         length(a.profile.front().centre - b.profile.front().centre) < same_axis_mm;
}

/// What the point adds to the circle, along both flanks.
std::vector<Vec2> flanks(const Loop& circle, Vec2 up) {
  const double half = std::sqrt(0.5);
  const Vec2 left{-up.y, up.x}, tip = circle.centre + (circle.radius / half) * up;
  std::vector<Vec2> points;
  for (const double side : {1.0, -1.0}) {
    const Vec2 foot = circle.centre + (circle.radius * half) * (up + side * left);
    for (int i = 0; i <= places; ++i) points.push_back(foot + (double(i) / places) * (tip - foot));
  }
  return points;
}

double distance_to_box(const PlaneBox& b, Vec2 p) {
  const Vec2 beyond{std::max({b.low.x - p.x, p.x - b.high.x, 0.0}), std::max({b.low.y - p.y, p.y - b.high.y, 0.0})};
  return length(beyond);
}

bool has_room(const Part& part, const Feature& hole, Vec2 up, double spare_mm) {
  for (const Vec2 p : flanks(hole.profile.front(), up)) {
    if (!contains(part.features.front().profile.front(), p)) return false;
    for (const Feature& f : part.features) {
      if (&f == &hole || coaxial(f, hole)) continue;
      if (f.kind == FeatureKind::seat) continue;
      if (f.along != Along::z) return false;
      if (f.kind == FeatureKind::boss) {
        const Loop& round = f.profile.front();
        if (contains(round, hole.profile.front().centre)) continue;
        if (contains(round, p)) return false;
      }
      for (const Loop& loop : f.profile) {
        const bool lettering = f.kind == FeatureKind::mark;
        if ((lettering ? distance_to_box(bounding_box(loop), p) : distance(loop, p)) < spare_mm) return false;
      }
    }
  }
  return true;
}

void point_up(Feature& f, Vec2 up) {
  const Loop round = f.profile.front();
  f.profile = {teardrop_loop(round.centre, round.radius, up, round.facets)};
  const Dimension* diameter = find_dimension(f, "diameter");
  if (!diameter) return;
  Dimension point = *diameter;
  point.quantity = "point";
  point.nominal_mm *= std::sqrt(0.5);
  point.modelled_mm *= std::sqrt(0.5);
  f.dimensions.push_back(point);
}

std::string listed(const std::vector<std::string>& ids) {
  std::string text;
  for (const std::string& id : ids) text += (text.empty() ? "" : ", ") + id;
  return text;
}

}  // namespace

Part with_pointed_holes(const Part& part, Vec2 up, double spare_mm) {
  Part pointed = part;
  std::vector<std::string> made, kept;
  for (std::size_t i = 0; i < part.features.size(); ++i) {
    const Feature& f = part.features[i];
    if (!may_be_pointed(f)) continue;
    const bool holds_insert = std::any_of(part.features.begin(), part.features.end(), [&](const Feature& other) {
      return other.kind == FeatureKind::insert_pocket && coaxial(other, f);
    });
    if (holds_insert) continue;
    if (has_room(part, f, up, spare_mm)) {
      point_up(pointed.features[i], up);
      made.push_back(f.id);
    } else {
      kept.push_back(f.id);
    }
  }
  if (!made.empty())
    pointed.statements.push_back("as it prints on an edge, with a point upward against sagging: " + listed(made));
  if (!kept.empty())
    pointed.statements.push_back("no room for a point above " + listed(kept) + ": run a drill through after printing");
  return pointed;
}

}  // namespace bedwright
