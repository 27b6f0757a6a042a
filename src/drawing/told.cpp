#include "drawing/told.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/lattice.h"
#include "base/numbers.h"
#include "base/trig.h"
#include "parts/bed_edges.h"

namespace bedwright {
namespace {

constexpr double same_axis_mm = 1e-4, same_level_mm = 0.005;

double nominal(const Feature& f, const char* quantity, double otherwise = 0) {
  const Dimension* d = find_dimension(f, quantity);
  return d ? d->nominal_mm : otherwise;
}

bool is_round_thing(const Feature& f) {
  switch (f.kind) {
    case FeatureKind::boss:
    case FeatureKind::clearance_hole:
    case FeatureKind::counterbore:
    case FeatureKind::slot:
    case FeatureKind::counterbore_slot:
    case FeatureKind::insert_pocket:
    case FeatureKind::notch:
      return f.effect != Effect::none && !f.profile.empty() &&
             (find_dimension(f, "diameter") || find_dimension(f, "width"));
    default:
      return false;
  }
}

std::string size_of(const Feature& f) {
  if (const Dimension* d = find_dimension(f, "diameter")) return "\u2300" + fixed_2(d->nominal_mm);
  if (const Dimension* l = find_dimension(f, "length"))
    return fixed_2(nominal(f, "width")) + " \u00d7 " + fixed_2(l->nominal_mm);
  return fixed_2(nominal(f, "width")) + " wide";
}

std::string side_of(const Feature& f) {
  const Vec3 a = f.axis;
  if (a.z != 0) return a.z > 0 ? "from above" : "from below";
  if (a.y != 0) return a.y < 0 ? "from the front" : "from the rear";
  return a.x < 0 ? "from the left" : "from the right";
}

std::string told(const Feature& f) {
  const Dimension *depth = find_dimension(f, "depth"), *floor = find_dimension(f, "floor"),
                  *height = find_dimension(f, "height");
  std::string text;
  switch (f.kind) {
    case FeatureKind::boss:
      text = "boss ";
      break;
    case FeatureKind::counterbore:
    case FeatureKind::counterbore_slot:
      text = "counterbore ";
      break;
    case FeatureKind::insert_pocket:
      text = "insert pocket ";
      break;
    case FeatureKind::notch:
      text = "opening ";
      break;
    default:
      text = find_dimension(f, "length") ? "slot " : "";
  }
  text += size_of(f);
  if (f.kind == FeatureKind::boss) return height ? text + ", " + fixed_2(height->nominal_mm) + " high" : text;
  if (floor) return text + " to Z " + fixed_2(floor->nominal_mm);
  if (depth) return text + ", " + fixed_2(depth->nominal_mm) + " deep " + side_of(f);
  const bool hole = f.kind == FeatureKind::clearance_hole || f.kind == FeatureKind::slot;
  return hole ? text + " THRU" : text;
}

int weight(FeatureKind kind) {
  switch (kind) {
    case FeatureKind::insert_pocket:
      return 5;
    case FeatureKind::counterbore:
    case FeatureKind::counterbore_slot:
      return 4;
    case FeatureKind::clearance_hole:
    case FeatureKind::slot:
      return 2;
    case FeatureKind::boss:
      return 1;
    default:
      return 0;
  }
}

}  // namespace

std::string chamfers_of(const Part& part) {
  std::vector<std::string> told;
  int along_bed = 0;
  for (const Feature& f : part.features) {
    if (f.kind == FeatureKind::chamfer && crosses(f)) ++along_bed;
    if (f.chamfer_mm <= 0) continue;
    std::string where = f.upper_chamfer ? "round both edges" : "round the lower edge";
    if (f.kind == FeatureKind::chamfer) {
      const bool across = std::fabs(f.axis.x) > std::fabs(f.axis.y);
      where = std::string("along the ") +
              (across ? (f.axis.x > 0 ? "right" : "left") : (f.axis.y > 0 ? "rear" : "front")) + " upper edge";
    }
    told.push_back(fixed_2(f.chamfer_mm) + " " + where);
  }
  if (along_bed > 0)
    told.push_back(fixed_2(bed_chamfer_mm) + " along " + std::to_string(along_bed) +
                   (along_bed == 1 ? " edge" : " edges") + " of the face on the print bed");
  std::string text;
  for (const std::string& one : told) text += (text.empty() ? "Chamfers 45°: " : ", ") + one;
  return text.empty() ? text : text + ".";
}

std::string fixed_2(double mm) {
  return fmt::format("{:.2f}", rounded_length(mm) == 0 ? 0.0 : rounded_length(mm));
}

std::vector<HoleGroup> hole_groups(const Part& part) {
  struct Stack {
    Along along;
    HolePlace place;
    std::vector<std::string> lines;
    int told = 0;
    double rim = 0;
  };
  std::vector<Stack> stacks;
  for (const Feature& f : part.features) {
    if (!is_round_thing(f)) continue;
    PlaneBox box = bounding_box(f.profile.front());
    for (const Loop& loop : f.profile) {
      const PlaneBox more = bounding_box(loop);
      box.low = {std::min(box.low.x, more.low.x), std::min(box.low.y, more.low.y)};
      box.high = {std::max(box.high.x, more.high.x), std::max(box.high.y, more.high.y)};
    }
    const bool round = f.profile.front().circle;
    // Points stick out on one side; the datum is the axis.
    const bool on_axis = f.kind != FeatureKind::notch;
    const Vec2 at = round ? f.profile.front().centre : on_axis ? in_plane(f.along, f.at) : 0.5 * (box.low + box.high);
    const Vec2 half{std::max(box.high.x - at.x, at.x - box.low.x), std::max(box.high.y - at.y, at.y - box.low.y)};
    auto have = std::find_if(stacks.begin(), stacks.end(), [&](const Stack& s) {
      return s.along == f.along && length(s.place.at - at) < same_axis_mm;
    });
    if (have == stacks.end()) {
      stacks.push_back({f.along, {at, f.profile.front(), half, f.id}, {}, 0, 1e300});
      have = stacks.end() - 1;
    }
    have->place.half = {std::max(have->place.half.x, half.x), std::max(have->place.half.y, half.y)};
    const double rim = std::min(half.x, half.y);
    if (rim < have->rim && f.effect == Effect::cut) have->rim = rim, have->place.rim = f.profile.front();
    // What goes through comes first.
    const std::string line = told(f);
    if (line.size() > 4 && line.compare(line.size() - 4, 4, "THRU") == 0)
      have->lines.insert(have->lines.begin(), line);
    else
      have->lines.push_back(line);
    if (const Dimension* point = find_dimension(f, "point"))
      have->lines.push_back("pointed, " + fixed_2(point->nominal_mm) + " from its axis");
    have->told = std::max(have->told, weight(f.kind));
  }
  std::vector<HoleGroup> groups;
  for (Stack& s : stacks) {
    const auto alike = std::find_if(groups.begin(), groups.end(),
                                    [&](const HoleGroup& g) { return g.along == s.along && g.lines == s.lines; });
    if (alike == groups.end())
      groups.push_back({s.along, s.lines, {s.place}, s.told});
    else
      alike->places.push_back(s.place);
  }
  for (HoleGroup& g : groups)
    if (g.places.size() > 1) g.lines.front() = std::to_string(g.places.size()) + " \u00d7 " + g.lines.front();
  return groups;
}

std::vector<double> levels_of(const Part& part) {
  std::vector<double> levels;
  const auto take = [&](double z) {
    if (std::none_of(levels.begin(), levels.end(), [&](double have) { return std::fabs(have - z) < same_level_mm; }))
      levels.push_back(z);
  };
  for (const Feature& f : part.features) {
    if (f.along != Along::z) continue;
    if (f.kind == FeatureKind::outline) {
      const Dimension* thickness = find_dimension(f, "thickness");
      if (f.from.kind == Bound::Kind::flat) take(f.from.z_mm);
      if (thickness && f.from.kind == Bound::Kind::flat)
        take(f.from.z_mm + thickness->nominal_mm);
      else if (f.to.kind == Bound::Kind::flat)
        take(f.to.z_mm);
    } else if (f.kind == FeatureKind::seat) {
      if (const Dimension* thickness = find_dimension(f, "thickness")) take(thickness->nominal_mm);
    } else if (f.kind == FeatureKind::counterbore || f.kind == FeatureKind::counterbore_slot) {
      if (const Dimension* floor = find_dimension(f, "floor")) take(floor->nominal_mm);
    } else if (f.kind == FeatureKind::boss) {
      for (const Bound& b : {f.from, f.to})
        if (b.kind == Bound::Kind::flat) take(b.z_mm);
    }
  }
  std::sort(levels.begin(), levels.end());
  return levels;
}

OutlineSize outline_size(const Part& part) {
  OutlineSize size;
  bool first = true;
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::outline || f.profile.empty()) continue;
    const PlaneBox box = bounding_box(f.profile.front());
    if (first) {
      size.low = box.low, size.high = box.high;
      size.round = f.profile.front().circle && f.effect != Effect::cut;
      size.thickness = nominal(f, "thickness");
      const Vec2 made = box.high - box.low, middle = 0.5 * (box.low + box.high);
      const Dimension* diameter = find_dimension(f, "diameter");
      Vec2 drawn{nominal(f, "length", made.x), nominal(f, "width", made.y)};
      if (diameter && size.round) drawn = {diameter->nominal_mm, diameter->nominal_mm};
      size.low = middle - 0.5 * drawn, size.high = middle + 0.5 * drawn;
      const double grown_by = diameter ? (diameter->modelled_mm - diameter->nominal_mm) / 2 : (made.x - drawn.x) / 2;
      const double asked_radius = part.settings.is_object() ? part.settings.value("corner_radius_mm", 0.0) : 0.0;
      for (const Curve& c : f.profile.front().curves) {
        if (!c.arc || !c.ccw) continue;
        // Most corners grow with the outline; a corner circle that is only moved keeps the radius it was asked for.
        const bool as_asked = std::fabs(c.radius - asked_radius) < 1e-6;
        const double radius = as_asked ? c.radius : c.radius - grown_by;
        const ArcSpan span = span_of(c);
        const double turn = span.from + span.sweep / 2;
        const Vec2 middle_of = c.centre + c.radius * Vec2{cos_rad(turn), sin_rad(turn)};
        const auto have = std::find_if(size.corners.begin(), size.corners.end(),
                                       [&](const auto& k) { return std::fabs(k.first - radius) < same_level_mm; });
        if (have == size.corners.end())
          size.corners.push_back({radius, {middle_of}});
        else
          have->second.push_back(middle_of);
      }
    }
    first = false;
  }
  return size;
}

std::vector<std::string> seat_lines(const Part& part) {
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::seat) continue;
    std::string shape, apex;
    const auto radius = [&](const char* quantity) { return decimal(find_dimension(f, quantity)->nominal_mm, 2); };
    const std::string way = part.seat.sign > 0 ? "" : ", hollow";
    if (find_dimension(f, "radius"))
      shape = part.seat.shape == SurfaceShape::sphere ? "seat SR" + radius("radius") + way
                                                      : "seat R" + radius("radius") + way + ", straight along " +
                                                            (std::fabs(part.seat.local_x.x) > 0.5 ? "Y" : "X");
    else if (find_dimension(f, "radius_x"))
      shape = "seat R" + radius("radius_x") + " along X, R" + radius("radius_y") + " along Y" + way;
    else if (find_dimension(f, "slope_x"))
      shape = "seat slopes " + decimal(find_dimension(f, "slope_x")->nominal_mm, 4) + " along X, " +
              decimal(find_dimension(f, "slope_y")->nominal_mm, 4) + " along Y";
    else if (find_dimension(f, "deviation"))
      shape = "seat as measured on the frame";
    if (shape.empty()) return {};
    for (const auto& [quantity, name] : {std::pair{"apex_x", "X "}, {"apex_y", "Y "}})
      if (const Dimension* d = find_dimension(f, quantity))
        apex += (apex.empty() ? "apex at " : ", ") + std::string(name) + fixed_2(d->nominal_mm);
    std::vector<std::string> lines = {shape};
    if (!apex.empty()) lines.push_back(apex);
    if (const Dimension* t = find_dimension(f, "thickness"))
      lines.push_back("least height Z " + fixed_2(t->nominal_mm));
    return lines;
  }
  return {};
}

}  // namespace bedwright
