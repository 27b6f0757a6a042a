#include "parts/pointed_holes.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/numbers.h"
#include "parts/features.h"

namespace bedwright {
namespace {

constexpr double same_axis_mm = 0.01;
constexpr double same_direction = 1e-9;
// Along either flank this many places are looked at, its ends besides.
constexpr int places = 8;

bool may_be_pointed(const Feature& f) {
  if (!is_upright_hole(f) || f.kind == FeatureKind::insert_pocket || find_dimension(f, "point")) return false;
  return f.profile.front().circle || find_dimension(f, "length");
}

bool coaxial(const Feature& a, const Feature& b) {
  return is_upright_hole(a) && is_upright_hole(b) && length(in_plane(Along::z, a.at - b.at)) < same_axis_mm;
}

double size_of(const Feature& f, const char* quantity, double Dimension::*value) {
  const Dimension* d = find_dimension(f, quantity);
  return d ? d->*value : 0;
}

/// One pattern of holes prints alike, and is drawn as one.
bool alike(const Feature& a, const Feature& b) {
  const auto same = [&](const char* quantity) {
    return size_of(a, quantity, &Dimension::nominal_mm) == size_of(b, quantity, &Dimension::nominal_mm);
  };
  return a.kind == b.kind && same("diameter") && same("width") && same("length");
}

/// Its profile with the point; nothing where a slot lies askew.
std::optional<Loop> with_point(const Feature& f, Vec2 up) {
  const Loop& drawn = f.profile.front();
  if (drawn.circle) return teardrop_loop(drawn.centre, drawn.radius, up, drawn.facets);
  const double width = size_of(f, "width", &Dimension::modelled_mm),
               extra = size_of(f, "length", &Dimension::modelled_mm) - width;
  for (const Curve& c : drawn.curves) {
    if (c.arc || !(length(c.end - c.start) > 0)) continue;
    const Vec2 along = (1 / length(c.end - c.start)) * (c.end - c.start);
    if (std::fabs(dot(along, up)) > same_direction && std::fabs(cross(along, up)) > same_direction) break;
    return pointed_slot_loop({f.at.x, f.at.y}, width / 2, extra, along, up, drawn.facets);
  }
  return std::nullopt;
}

/// Along both flanks, which the loop ends with.
std::vector<Vec2> flanks(const Loop& pointed) {
  std::vector<Vec2> points;
  for (std::size_t k = pointed.curves.size() - 2; k < pointed.curves.size(); ++k)
    for (int i = 0; i <= places; ++i)
      points.push_back(pointed.curves[k].start +
                       (double(i) / places) * (pointed.curves[k].end - pointed.curves[k].start));
  return points;
}

double distance_to_box(const PlaneBox& b, Vec2 p) {
  const Vec2 beyond{std::max({b.low.x - p.x, p.x - b.high.x, 0.0}), std::max({b.low.y - p.y, p.y - b.high.y, 0.0})};
  return length(beyond);
}

bool has_room(const Part& part, const Feature& hole, const Loop& pointed, double spare_mm) {
  for (const Vec2 p : flanks(pointed)) {
    if (!contains(part.features.front().profile.front(), p)) return false;
    for (const Feature& f : part.features) {
      if (&f == &hole || coaxial(f, hole)) continue;
      if (f.kind == FeatureKind::seat) continue;
      if (f.along != Along::z) return false;
      if (f.kind == FeatureKind::boss) {
        const Loop& round = f.profile.front();
        if (contains(round, {hole.at.x, hole.at.y})) continue;
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

/// From the axis to the point.
void add_point(Feature& f) {
  const double half = std::sqrt(0.5);
  const bool round = find_dimension(f, "diameter") != nullptr;
  const auto reach = [&](double Dimension::*value) {
    const double width = size_of(f, round ? "diameter" : "width", value);
    return width * half + (round ? 0 : (size_of(f, "length", value) - width) / 2);
  };
  f.dimensions.push_back(
      {"point", reach(&Dimension::nominal_mm), reach(&Dimension::modelled_mm), f.dimensions.front().tolerance_mm});
}

std::string listed(const std::vector<std::string>& ids) {
  std::string text;
  for (const std::string& id : ids) text += (text.empty() ? "" : ", ") + id;
  return text;
}

}  // namespace

Part with_pointed_holes(const Part& part, Vec2 up, double spare_mm) {
  std::vector<std::optional<Loop>> profiles(part.features.size());  // of those with room
  std::vector<std::size_t> wanting;
  for (std::size_t i = 0; i < part.features.size(); ++i) {
    const Feature& f = part.features[i];
    if (!may_be_pointed(f)) continue;
    const bool holds_insert = std::any_of(part.features.begin(), part.features.end(), [&](const Feature& other) {
      return other.kind == FeatureKind::insert_pocket && coaxial(other, f);
    });
    if (holds_insert) continue;
    wanting.push_back(i);
    const std::optional<Loop> profile = with_point(f, up);
    if (profile && has_room(part, f, *profile, spare_mm)) profiles[i] = profile;
  }
  Part pointed = part;
  std::vector<std::string> made, kept, none;
  for (const std::size_t i : wanting) {
    const Feature& f = part.features[i];
    const bool all = std::all_of(wanting.begin(), wanting.end(),
                                 [&](std::size_t k) { return profiles[k] || !alike(part.features[k], f); });
    if (all) {
      pointed.features[i].profile = {*profiles[i]};
      add_point(pointed.features[i]);
    }
    std::vector<std::string>& group = all ? made : profiles[i] ? kept : none;
    group.push_back(f.id);
  }
  if (!made.empty())
    pointed.statements.push_back("as it prints on an edge, with a point upward against sagging: " + listed(made));
  if (!none.empty())
    pointed.statements.push_back("no room for a point above " + listed(none) +
                                 (kept.empty() ? "" : ", so none above " + listed(kept) + ", which are alike") +
                                 ": run a drill through after printing");
  return pointed;
}

}  // namespace bedwright
