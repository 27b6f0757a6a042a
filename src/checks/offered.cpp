#include "checks/offered.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/error.h"
#include "base/trig.h"

namespace bedwright {
namespace {

constexpr double nudge_mm = 1e-6;    // off an edge, to know which side is meant
constexpr double sagitta_mm = 2e-3;  // on arcs: times the greatest slope (0.2) it is 4e-4 mm of gap
constexpr double grid_error_mm = 5e-4;
constexpr double widest_step_mm = 2, finest_step_mm = 0.3;
constexpr int head_ring = 48;
constexpr int tilt_halvings = 34;  // of a range by 2/3 each: 1e-6 of it remains
constexpr double beaten_mm = 1e-9;
constexpr double steepest = 0.25;  // tangent; a frame sloping more is refused long before

bool within(const Feature& f, Vec2 p) {
  bool inside = false;
  for (const Loop& loop : f.profile)
    if (contains(loop, p)) inside = !inside;
  return inside;
}

double level(const Part& part, const Bound& bound, Vec2 p, double open) {
  if (bound.kind == Bound::Kind::flat) return bound.z_mm;
  return bound.kind == Bound::Kind::seat ? height_at(part.seat, p) : open;
}

bool opens(const Feature& f, bool up) {
  if (f.effect != Effect::cut || f.kind == FeatureKind::mark) return false;
  return (up ? f.to : f.from).kind != Bound::Kind::flat;
}

bool on_seat(const Part& part, Vec2 p) {
  bool any = false;
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::seat) continue;
    any = true;
    for (const Loop& loop : f.profile)
      if (contains(loop, p)) return true;
  }
  return !any;
}

double grid_step(double curvature) {
  // An extreme of curvature k lies at most a step from a sample: k step^2 / 2.
  const double step = curvature > 0 ? std::sqrt(2 * grid_error_mm / curvature) : widest_step_mm;
  return std::clamp(step, finest_step_mm, widest_step_mm);
}

double dimension_of(const Feature& f, const char* quantity) {
  const Dimension* d = find_dimension(f, quantity);
  return d ? d->nominal_mm : 0;
}

HoleSpot spot_of(const Feature& f) {
  HoleSpot spot;
  spot.feature = &f;
  spot.id = f.id;
  spot.at = {f.at.x, f.at.y};
  const double width = dimension_of(f, "width");
  spot.diameter_mm = width > 0 ? width : dimension_of(f, "diameter");
  if (width <= 0) return spot;
  spot.extra_mm = dimension_of(f, "length") - width;
  // Its longest straight wall, of the two directions in which slots' walls run; a roof's flanks run between these.
  double longest = 0;
  for (const Curve& c : f.profile.front().curves) {
    const Vec2 along = c.end - c.start;
    const bool flank = find_dimension(f, "point") && std::fabs(std::fabs(along.x) - std::fabs(along.y)) < 1e-6;
    if (c.arc || flank || !(length(along) > longest)) continue;
    longest = length(along);
    spot.along = (1 / longest) * along;
  }
  return spot;
}

bool coaxial(const Feature& a, const Feature& b) {
  return a.at.x == b.at.x && a.at.y == b.at.y;
}

}  // namespace

Face::Face(const Part& part, bool up) : part_(part), up_(up) {
  for (const Feature& f : part.features) {
    if (f.effect != Effect::add && !opens(f, up)) continue;
    (f.effect == Effect::add ? bodies_ : openings_).push_back(reach_of(f));
  }
}

std::optional<double> Face::at(Vec2 p) const {
  std::optional<double> face;
  for (const FeatureReach& r : bodies_) {
    const Feature& f = *r.feature;
    if (!covers(r, p)) continue;
    if ((!up_ || f.upper_chamfer) && f.chamfer_mm > 0 && distance(f.profile.front(), p) < f.chamfer_mm - nudge_mm)
      continue;
    const double z = level(part_, up_ ? f.to : f.from, p, 0);
    face = !face ? z : up_ ? std::max(*face, z) : std::min(*face, z);
  }
  if (!face) return face;
  for (const FeatureReach& r : openings_)
    if (covers(r, p)) return std::nullopt;
  return face;
}

std::optional<double> face_at(const Part& part, bool up, Vec2 p) {
  return Face(part, up).at(p);
}

std::vector<EdgePoint> edge_points(const Loop& loop, double step_mm) {
  std::vector<EdgePoint> points;
  const auto add_arc = [&](Vec2 centre, double radius, double from, double sweep) {
    const double chord = std::sqrt(8 * radius * sagitta_mm);
    const int n = std::max(1, int(std::ceil(std::fabs(sweep) * radius / std::min(step_mm, chord))));
    for (int i = 0; i <= n; ++i) {
      const double angle = from + sweep * i / n;
      const Vec2 u{cos_rad(angle), sin_rad(angle)};
      points.push_back({centre + radius * u, sweep > 0 ? u : -u});
    }
  };
  if (loop.circle) {
    add_arc(loop.centre, loop.radius, 0, 2 * pi);
    return points;
  }
  for (const Curve& c : loop.curves) {
    if (c.arc) {
      const Vec2 a = c.start - c.centre, b = c.end - c.centre;
      double sweep = atan2_rad(cross(a, b), dot(a, b));
      if (c.ccw && sweep <= 0) sweep += 2 * pi;
      if (!c.ccw && sweep >= 0) sweep -= 2 * pi;
      add_arc(c.centre, c.radius, atan2_rad(a.y, a.x), sweep);
      continue;
    }
    const double whole = length(c.end - c.start);
    if (whole <= 0) continue;
    const Vec2 along = (1 / whole) * (c.end - c.start), outward{along.y, -along.x};
    const int n = std::max(1, int(std::ceil(whole / step_mm)));
    for (int i = 0; i <= n; ++i) points.push_back({c.start + (whole * i / n) * along, outward});
  }
  return points;
}

std::vector<FacePoint> face_points(const Part& part, bool up, double curvature) {
  const double step = grid_step(curvature);
  const Face face(part, up);
  std::vector<FacePoint> points;
  const auto take = [&](Vec2 p) {
    if (const auto z = face.at(p)) points.push_back({p, *z, on_seat(part, p)});
  };
  for (const Feature& f : part.features) {
    const bool edge = f.effect == Effect::add || f.kind == FeatureKind::seat || opens(f, up);
    if (!edge) continue;
    const double inset = up && !f.upper_chamfer ? 0 : f.chamfer_mm;
    for (const Loop& loop : f.profile)
      for (const EdgePoint& e : edge_points(loop, step)) {
        take(e.at - (inset + nudge_mm) * e.outward);
        if (f.kind != FeatureKind::outline) take(e.at + nudge_mm * e.outward);
      }
  }
  const PlaneBox box = bounding_box(part.features.front().profile.front());
  for (double y = box.low.y + step / 2; y < box.high.y; y += step)
    for (double x = box.low.x + step / 2; x < box.high.x; x += step) take({x, y});
  return points;
}

std::vector<HoleSpot> insert_holes(const Part& part) {
  std::vector<HoleSpot> spots;
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::insert_pocket) spots.push_back(spot_of(f));
  return spots;
}

std::vector<HoleSpot> mounting_holes(const Part& part) {
  std::vector<HoleSpot> spots;
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::clearance_hole && f.kind != FeatureKind::slot) continue;
    const bool insert = std::any_of(part.features.begin(), part.features.end(), [&](const Feature& g) {
      return g.kind == FeatureKind::insert_pocket && coaxial(f, g);
    });
    if (!insert) spots.push_back(spot_of(f));
  }
  return spots;
}

double bearing_mm(const Part& part, bool up, Vec2 hole) {
  std::optional<double> floor;
  for (const Feature& f : part.features) {
    if (f.effect != Effect::cut || f.kind == FeatureKind::mark || !within(f, hole)) continue;
    const Bound& end = up ? f.from : f.to;
    if (opens(f, up) && end.kind == Bound::Kind::flat)
      floor = !floor ? end.z_mm : up ? std::min(*floor, end.z_mm) : std::max(*floor, end.z_mm);
  }
  if (floor) return *floor;
  return level(part, up ? part.features.front().to : part.features.front().from, hole, 0);
}

/// What plane_transform does with a point where there are only quarters; nothing is negative zero.
Vec2 quarters_on(int quarter, Vec2 p) {
  switch (((quarter % 4) + 4) % 4) {
    case 1:
      return {0.0 - p.y, p.x + 0.0};
    case 2:
      return {0.0 - p.x, 0.0 - p.y};
    case 3:
      return {p.y + 0.0, 0.0 - p.x};
    default:
      return {p.x + 0.0, p.y + 0.0};
  }
}

Vec2 posed(const Offered& offered, Vec2 p) {
  if (offered.odd_deg == 0) return quarters_on(offered.quarter, offered.flipped ? Vec2{-p.x, p.y} : p);
  const Vec3 q = apply(plane_transform(offered), {p.x, p.y, 0});
  return {q.x, q.y};
}

Vec2 in_part(const Offered& offered, Vec2 p) {
  if (offered.odd_deg == 0) {
    const Vec2 back = quarters_on(-offered.quarter, p);
    return offered.flipped ? Vec2{0.0 - back.x, back.y} : back;
  }
  const Vec3 q = apply(inverse(plane_transform(offered)), {p.x, p.y, 0});
  return {q.x, q.y};
}

double posed_z(const Offered& offered, double z) {
  return offered.flipped ? offered.lift_mm - z : offered.lift_mm + z;
}

Transform plane_transform(const Offered& offered) {
  Transform over;
  if (offered.flipped) over.m[0] = -1;
  const Transform quarters = compose(quarter_turn(2, offered.quarter), over);
  return offered.odd_deg == 0 ? quarters : compose(turn_about_z(offered.odd_deg * rad_per_deg), quarters);
}

Vec2 resting_tilt(const std::vector<Vec2>& at, const std::vector<double>& below) {
  std::vector<std::size_t> order(at.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t i, std::size_t k) { return at[i].y != at[k].y ? at[i].y < at[k].y : i < k; });
  // For one slope along x, the points that some slope along y could make the deepest.
  struct Standing {
    double y, below, across, depth;
  };
  std::vector<Standing> standing;
  const auto keep_from = [&](auto begin, auto end) {
    double reach = -1e300, reach_y = 0;
    for (auto p = begin; p != end; ++p) {
      reach -= steepest * std::fabs(p->y - reach_y);
      reach_y = p->y;
      // Beaten by far more than rounding: never the deepest, so the result stays the same to the bit.
      if (p->depth < reach - beaten_mm) p->depth = -1e300;
      reach = std::max(reach, p->depth);
    }
  };
  const auto lean = [&](double slope_x) {
    standing.clear();
    for (const std::size_t i : order) {
      const double across = slope_x * at[i].x;
      standing.push_back({at[i].y, below[i], across, below[i] - across});
    }
    keep_from(standing.begin(), standing.end());
    keep_from(standing.rbegin(), standing.rend());
    const auto beaten = [](const Standing& p) { return p.depth == -1e300; };
    standing.erase(std::remove_if(standing.begin(), standing.end(), beaten), standing.end());
  };
  const auto deepest = [&](double slope_y) {
    double most = -1e300;
    for (const Standing& p : standing) most = std::max(most, p.below - (p.across + slope_y * p.y));
    return most;
  };
  const auto least = [](double low, double high, auto value) {
    for (int i = 0; i < tilt_halvings; ++i) {
      const double a = low + (high - low) / 3, b = high - (high - low) / 3;
      if (value(a) < value(b))
        high = b;
      else
        low = a;
    }
    return (low + high) / 2;
  };
  const auto best_y = [&](double slope_x) {
    lean(slope_x);
    return least(-steepest, steepest, deepest);
  };
  const double x = least(-steepest, steepest, [&](double slope_x) { return deepest(best_y(slope_x)); });
  return {x, best_y(x)};
}

Contact first_contact(const Offered& offered, const std::vector<FacePoint>& face, const std::vector<Head>& heads,
                      const Surface& sheet) {
  if (face.empty()) throw Error("a part without a face cannot be offered up");
  const Transform t = plane_transform(offered);
  std::vector<double> above(face.size());  // of the part above the sheet at its right place
  Contact contact;
  bool first = true;
  const auto touch = [&](double drop) {
    contact.drop_mm = first ? drop : std::max(contact.drop_mm, drop);
    first = false;
  };
  for (std::size_t i = 0; i < face.size(); ++i) {
    const Vec3 p = apply(t, {face[i].at.x, face[i].at.y, 0});
    above[i] = posed_z(offered, face[i].z_mm) - height_at(sheet, {p.x, p.y});
    touch(above[i]);
  }
  for (const Head& head : heads)
    for (int k = 0; k < head_ring; ++k) {
      const double angle = 2 * pi * k / head_ring;
      const Vec2 u{cos_rad(angle), sin_rad(angle)};
      for (double part : {0.0, 0.5, 1.0}) touch(head.top_mm - height_at(sheet, head.at + (part * head.radius_mm) * u));
    }
  for (std::size_t i = 0; i < face.size(); ++i) {
    const double gap = contact.drop_mm - above[i];
    if (!face[i].seat || gap < contact.gap_mm) continue;
    contact.gap_mm = gap;
    contact.where = posed(offered, face[i].at);
  }
  return contact;
}

}  // namespace bedwright
