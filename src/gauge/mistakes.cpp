#include "gauge/mistakes.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "base/trig.h"

namespace bedwright {
namespace {

constexpr double upright_deg = 0.5;
constexpr double upside_down_deg = 1.0;  // design 6.3
constexpr double moved_mm = 0.02;
constexpr double size_mm = 0.05;
constexpr double same_axis_mm = 0.05;
// Vertices of a seat lie on the true face to 2^-17 mm, whatever the facets: a shape that differs by more is another.
constexpr double seat_shape_mm = 0.003;
constexpr double level_mm = 0.02;

std::string mm(double v) {
  return decimal(v, 3) + " mm";
}

Vec2 plan(Vec3 p) {
  return {p.x, p.y};
}

std::string listed(const std::vector<std::string>& ids) {
  std::string out;
  const std::size_t shown = std::min<std::size_t>(ids.size(), 4);
  for (std::size_t i = 0; i < shown; ++i) out += (i == 0 ? "" : i + 1 == ids.size() ? " and " : ", ") + ids[i];
  if (ids.size() > shown) out += " and " + std::to_string(ids.size() - shown) + " more";
  return out;
}

bool is_boss(const MeasuredFeature& f) {
  return f.kind == "boss" && std::fabs(f.axis.z) > 0.999;
}
bool is_bore(const MeasuredFeature& f) {
  return (f.kind == "counterbore" || f.kind == "counterbore_slot") && std::fabs(f.axis.z) > 0.999;
}
bool is_curved(const MeasuredFeature& f) {
  return f.kind == "sphere_seat" || f.kind == "cylinder_seat" || f.kind == "curved_seat";
}

/// Which way the side looks that the bosses are told by: the counterbores' (not those in bosses), else a curved seat's;
/// 0: none.
int reference_side(const Placed& p, double boss_diameter) {
  int up = 0;
  for (const MeasuredFeature& f : p.features) {
    if (!is_bore(f)) continue;
    bool in_boss = false;
    for (const MeasuredFeature& b : p.features)
      in_boss = in_boss || (is_boss(b) && std::fabs(b.diameter_mm - boss_diameter) < 0.5 &&
                            length(plan(b.at) - plan(f.at)) < same_axis_mm);
    if (!in_boss) up += f.axis.z > 0 ? 1 : -1;
  }
  if (up != 0) return up > 0 ? 1 : -1;
  double largest = 0;
  int side = 0;
  for (const MeasuredFeature& f : p.features) {
    if (!is_curved(f) || f.area_mm2 < largest || f.facets.empty()) continue;
    const auto& t = p.mesh.triangles[f.facets.front()];
    const Vec3 n = cross(p.mesh.vertices[t[1]] - p.mesh.vertices[t[0]], p.mesh.vertices[t[2]] - p.mesh.vertices[t[0]]);
    if (std::fabs(n.z) < 0.7 * length(n)) continue;
    largest = f.area_mm2;
    side = n.z > 0 ? 1 : -1;
  }
  return side;
}

bool bosses_on_wrong_side(const Part& part, const Placed& file, const Placed& solid) {
  int expected = 0, kept = 0, swapped = 0, wanted_side = 0;
  double diameter = 0;
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::boss) continue;
    const int i = counterpart(f, solid);
    if (i < 0) continue;
    const MeasuredFeature& wanted = solid.features[static_cast<std::size_t>(i)];
    if (!is_boss(wanted)) continue;
    ++expected;
    diameter = wanted.diameter_mm;
    wanted_side += wanted.axis.z > 0 ? 1 : -1;
    // In place: the same axis line, the same or the other way.
    for (const MeasuredFeature& m : file.features) {
      if (!is_boss(m) || std::fabs(m.diameter_mm - wanted.diameter_mm) > 0.5) continue;
      if (length(plan(m.at) - plan(wanted.at)) > 0.5) continue;
      (m.axis.z * wanted.axis.z > 0 ? kept : swapped) += 1;
    }
  }
  if (expected == 0) return false;
  if (swapped > 0 && kept == 0 && 2 * swapped >= expected) return true;
  // The file may lie another way up: which side the bosses are on, told by the counterbores or the seat, does not
  // change.
  if (std::abs(wanted_side) != expected) return false;
  int side = 0, count = 0;
  for (const MeasuredFeature& m : file.features)
    if (is_boss(m) && std::fabs(m.diameter_mm - diameter) < 0.5) {
      side += m.axis.z > 0 ? 1 : -1;
      ++count;
    }
  const int by_solid = reference_side(solid, diameter), by_file = reference_side(file, diameter);
  return count > 0 && 2 * count >= expected && std::abs(side) == count && by_solid != 0 && by_file != 0 &&
         (wanted_side > 0 ? 1 : -1) * by_solid != (side > 0 ? 1 : -1) * by_file;
}

double drop(double radius, double d) {
  if (radius == 0) return 0;
  const double r = std::fabs(radius), root = r * r - d * d;
  const double sag = root > 0 ? d * d / (r + std::sqrt(root)) : r;
  return radius > 0 ? -sag : sag;
}

double fitted_height(const SeatReading& r, Vec2 p) {
  if (r.radius_x == 0 && r.radius_y == 0) return dot(r.slope, p);
  if (r.radius_x == r.radius_y) return drop(r.radius_x, length(p - r.apex));
  return drop(r.radius_x, p.x - r.apex.x) + drop(r.radius_y, p.y - r.apex.y);
}

std::string bow(const SeatReading& r) {
  const double radius = r.radius_x != 0 ? r.radius_x : r.radius_y;
  if (radius == 0) return "flat";
  return std::string(radius > 0 ? "crown up" : "crown down") + ", radius " + decimal(std::fabs(radius), 1) + " mm";
}

std::vector<Mistake> dome_mistakes(const Part& part, const Placed& file, const Placed& solid) {
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::seat) continue;
    SeatReading wanted = read_seat(f, part.seat, solid), found = read_seat(f, part.seat, file);
    if (!wanted.found || !found.found) continue;
    if (part.seat.shape == SurfaceShape::measured) {
      // The solid's own facets stray as far as they may; lifted as a whole is another mistake.
      const double off = found.most_off_mm - found.least_off_mm, own = wanted.most_off_mm - wanted.least_off_mm;
      if (off - own <= seat_shape_mm) continue;
      return {{"wrong-dome", "the seat does not follow the measured surface: from " + decimal(found.least_off_mm, 3) +
                                 " to " + decimal(found.most_off_mm, 3) + " mm off it; the part wants " +
                                 decimal(wanted.least_off_mm, 3) + " to " + decimal(wanted.most_off_mm, 3)}};
    }
    if (part.seat.shape == SurfaceShape::plane) wanted.radius_x = wanted.radius_y = 0;
    // A flat seat fitted as a ball of kilometres is flat.
    double reach = 1;
    for (const Vec3& p : wanted.points) reach = std::max(reach, length(plan(p)));
    if (part.seat.shape == SurfaceShape::plane && std::fabs(found.radius_x) > reach * reach / seat_shape_mm)
      found.radius_x = found.radius_y = 0;
    double least = 1e300, most = -1e300;
    for (const Vec3& p : wanted.points) {
      const double d = fitted_height(found, plan(p)) - fitted_height(wanted, plan(p));
      least = std::min(least, d);
      most = std::max(most, d);
    }
    if (most - least <= seat_shape_mm) continue;
    std::string words = "the seat is " + bow(found) + "; the part wants " + bow(wanted);
    if (bow(found) == bow(wanted) || std::fabs(found.radius_x - wanted.radius_x) < 1e-3 * std::fabs(wanted.radius_x))
      words = "the seat's dome is elsewhere: apex at x " + decimal(found.apex.x, 2) + ", y " +
              decimal(found.apex.y, 2) + " mm instead of x " + decimal(wanted.apex.x, 2) + ", y " +
              decimal(wanted.apex.y, 2) + " mm";
    return {{"wrong-dome", words + " (up to " + mm(most - least) + " off)"}};
  }
  return {};
}

struct Offsets {
  std::vector<std::string> missing, moved, resized, lifted;
  double farthest = 0;
};

Offsets round_offsets(const Part& part, const Placed& file, const Placed& solid) {
  Offsets out;
  std::vector<std::uint8_t> used(file.features.size(), 0);
  for (const Feature& f : part.features)
    if (const int i = counterpart(f, file); i >= 0) used[static_cast<std::size_t>(i)] = 1;
  for (const Feature& f : part.features) {
    const int s = counterpart(f, solid);
    if (s < 0) continue;
    const MeasuredFeature& wanted = solid.features[static_cast<std::size_t>(s)];
    const int i = counterpart(f, file);
    if (i >= 0) {
      const MeasuredFeature& found = file.features[static_cast<std::size_t>(i)];
      const double apart = length(in_plane(f.along, found.at) - in_plane(f.along, wanted.at));
      if (apart > moved_mm) {
        out.moved.push_back(f.id);
        out.farthest = std::max(out.farthest, apart);
      } else if (std::fabs(found.diameter_mm - wanted.diameter_mm) > size_mm ||
                 std::fabs(found.length_mm - wanted.length_mm) > size_mm) {
        const bool longer = std::fabs(found.length_mm - wanted.length_mm) > size_mm;
        out.resized.push_back(f.id + " measures " + mm(longer ? found.length_mm : found.diameter_mm) + " instead of " +
                              mm(longer ? wanted.length_mm : wanted.diameter_mm));
      }
      continue;
    }
    double nearest = 1e300;
    bool other_form = false;
    for (std::size_t k = 0; k < file.features.size(); ++k) {
      const MeasuredFeature& m = file.features[k];
      if (used[k] || m.concave != wanted.concave || std::fabs(along_axis(f.along, m.axis)) < 0.999 ||
          m.kind == "edge_round")
        continue;
      if (std::fabs(m.diameter_mm - wanted.diameter_mm) > size_mm) continue;
      const double apart = length(in_plane(f.along, m.at) - in_plane(f.along, wanted.at));
      if (apart >= nearest) continue;
      nearest = apart;
      other_form = (m.length_mm > 0) != (wanted.length_mm > 0);
    }
    if (nearest < moved_mm && other_form) {
      out.resized.push_back(f.id +
                            (wanted.length_mm > 0 ? " is round instead of a slot" : " is a slot instead of round"));
    } else if (nearest < moved_mm) {
      out.lifted.push_back(f.id);
    } else if (nearest < 1e300) {
      out.moved.push_back(f.id);
      out.farthest = std::max(out.farthest, nearest);
    } else {
      out.missing.push_back(f.id);
    }
  }
  return out;
}

std::vector<std::string> missing_recesses(const Part& part, const Placed& file, const Placed& solid) {
  std::vector<std::string> out;
  for (const Feature& f : part.features)
    if ((f.kind == FeatureKind::mark || f.kind == FeatureKind::notch) && recesses(f, solid) > 0 &&
        recesses(f, file) == 0)
      out.push_back(f.id);
  return out;
}

}  // namespace

std::vector<Mistake> surface_mistakes(const MeshHealth& health, std::size_t facets) {
  std::vector<Mistake> out;
  if (!health.watertight)
    out.push_back({"not-closed", "the surface is not closed: " + std::to_string(health.open_edges) +
                                     " edges have no partner; export the part again"});
  if (health.watertight && health.flipped == 0 && health.wrong_shells > 0 && health.wrong_shells == health.pieces) {
    out.push_back({"inside-out", "every facet faces inward: turn all facets over, or export the part again"});
  } else if (health.flipped > 0 || health.wrong_shells > 0) {
    std::string what = health.flipped > 0 ? std::to_string(health.flipped) + " of " + std::to_string(facets) +
                                                " facets face the wrong way"
                                          : std::to_string(health.wrong_shells) + " of " +
                                                std::to_string(health.pieces) + " bodies face the wrong way";
    if (health.watertight || health.flipped > 0) out.push_back({"partly-inside-out", what + "; export the part again"});
  }
  return out;
}

std::vector<Mistake> pose_mistakes(const Transform& file_to_print) {
  const Vec3 up = turn(file_to_print, {0, 0, 1});
  const double off = atan2_rad(std::sqrt(up.x * up.x + up.y * up.y), up.z) / rad_per_deg;
  if (off < upright_deg) return {};
  if (180 - off <= upside_down_deg)
    return {{"upside-down", "the file lies upside down: turn it over by 180 degrees before printing"}};
  return {{"turned", "the file lies tipped by " + decimal(off, 1) +
                         " degrees from the pose it is to be printed in; lay it down as the part's own file does"}};
}

std::vector<Mistake> feature_mistakes(const Part& part, const Placed& file, const Placed& solid) {
  if (bosses_on_wrong_side(part, file, solid))
    return {{"wrong-boss-side", "the bosses are on the other side of the plate: check boss_side"}};
  std::vector<Mistake> out = dome_mistakes(part, file, solid);
  const bool dome = !out.empty();
  const Offsets offsets = round_offsets(part, file, solid);
  if (!offsets.missing.empty())
    out.push_back({"feature-missing",
                   listed(offsets.missing) + (offsets.missing.size() > 1 ? " are" : " is") + " not in the file"});
  if (!offsets.resized.empty()) out.push_back({"feature-missing", listed(offsets.resized)});
  if (!offsets.moved.empty())
    out.push_back({"feature-moved", listed(offsets.moved) + (offsets.moved.size() > 1 ? " are" : " is") + " up to " +
                                        mm(offsets.farthest) + " from the drawn place"});
  if (dome || !offsets.missing.empty()) return out;
  // Levels: a seat too high, a pocket too shallow, a boss too short.
  const std::vector<MeasuredDimension> dimensions = measured_dimensions(part, file),
                                       drawn = measured_dimensions(part, solid);
  bool levels = false;
  for (std::size_t i = 0; i < dimensions.size(); ++i) {
    const MeasuredDimension& d = dimensions[i];
    const std::string& q = d.quantity;
    if (q != "thickness" && q != "depth" && q != "height" && q != "rise" && q != "length" && q != "width") continue;
    if (!d.measured_mm || !drawn[i].measured_mm || d.ok) continue;
    if (std::fabs(*d.measured_mm - *drawn[i].measured_mm) < level_mm) continue;
    if (std::any_of(offsets.resized.begin(), offsets.resized.end(),
                    [&](const std::string& words) { return words.rfind(d.feature + " ", 0) == 0; }))
      continue;
    out.push_back({"feature-moved",
                   d.feature + ": " + q + " is " + mm(*d.measured_mm) + " instead of " + mm(*drawn[i].measured_mm)});
    break;
  }
  if (!levels && !offsets.lifted.empty())
    out.push_back({"feature-moved",
                   listed(offsets.lifted) + (offsets.lifted.size() > 1 ? " are" : " is") + " at another height"});
  // A mark that sits elsewhere usually follows from something else; alone it is worth a word.
  const std::vector<std::string> marks = missing_recesses(part, file, solid);
  if (out.empty() && !marks.empty())
    out.push_back({"feature-missing", listed(marks) + (marks.size() > 1 ? " are" : " is") + " not in the file"});
  return out;
}

}  // namespace bedwright
