#include "checks/way_blocked.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "base/trig.h"
#include "checks/line_up.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

constexpr double touch_mm = 1e-3;  // less is contact, not interference
constexpr double rest_step_mm = 0.5;
constexpr double rim_mm = 1e-6;  // just outside a cut
constexpr double odd_deg = 0.5;  // nearer to a quarter than this is that quarter

double thread_mm(const std::string& id) {
  const ThreadSize* thread = find_thread(id);
  return thread ? thread->diameter_mm : 0;
}

/// The screw that a plain hole is for: the thickest whose medium hole (ISO 273) it is.
double screw_for_hole_mm(double hole_mm) {
  double thickest = 0;
  for (const std::string& id : hardware_ids("threads"))
    if (find_thread(id)->clearance_medium_mm <= hole_mm) thickest = std::max(thickest, thread_mm(id));
  return thickest > 0 ? thickest : hole_mm;
}

/// The nearest hole for each screw.
std::vector<Fit> fits_for(const std::vector<Vec2>& screws, const std::vector<HoleSpot>& holes, const Offered& offered) {
  std::vector<Fit> fits;
  const Transform t = plane_transform(offered);
  for (Vec2 screw : screws) {
    const HoleSpot* nearest = nullptr;
    for (const HoleSpot& hole : holes)
      if (!nearest || length(posed(offered, hole.at) - screw) < length(posed(offered, nearest->at) - screw))
        nearest = &hole;
    if (!nearest) continue;
    Fit fit;
    fit.screw = screw;
    fit.hole = posed(offered, nearest->at);
    fit.extra_mm = nearest->extra_mm;
    const Vec3 along = turn(t, {nearest->along.x, nearest->along.y, 0});
    fit.along = {along.x, along.y};
    fit.float_mm = nearest->diameter_mm;  // less the screw's, which the caller knows
    fits.push_back(fit);
  }
  return fits;
}

Block plate_holes(const Surroundings& around, const Offered& offered) {
  const Kit& kit = around.kit;
  const PlateSettings s = plate_settings(kit, *offered.part);
  const std::vector<Vec2> threads = carriage_holes(kit.carriages.size);
  std::vector<Fit> fits = fits_for(threads, mounting_holes(*offered.part), offered);
  const double screw = thread_mm(kit.carriages.size.thread);
  for (Fit& fit : fits) fit.float_mm = std::max(0.0, (fit.float_mm - screw) / 2);
  if (fits.size() < threads.size() || !lines_up(fits))
    return {"carriage-holes", "its holes miss the carriage's threads by " + decimal(off_by(fits), 2) + " mm"};

  const std::vector<Vec2> frame = frame_holes(around.placement);
  std::vector<Fit> above = fits_for(frame, insert_holes(*offered.part), offered);
  for (std::size_t i = 0; i < above.size(); ++i) {
    above[i].float_mm = std::max(0.0, (around.placement.holes[i].diameter_mm - thread_mm(s.frame_screw)) / 2);
    above[i].extra_mm = 0;
  }
  if (above.size() < frame.size()) return {"frame-holes", "it has no insert under the frame's holes"};
  const double off = off_by(above);
  fits.insert(fits.end(), above.begin(), above.end());
  if (!lines_up(fits))
    return {"frame-holes", "its inserts miss the frame's holes by " + decimal(std::max(off, 0.0), 2) + " mm"};
  return {};
}

Block other_holes(const Surroundings& around, const Offered& offered) {
  const std::vector<HoleSpot> own = mounting_holes(*offered.part);
  Offered right;
  right.part = &around.right;
  right.quarter = around.right_quarter;
  std::vector<Vec2> screws;
  std::vector<double> diameters;
  for (const HoleSpot& hole : mounting_holes(around.right)) {
    screws.push_back(posed(right, hole.at));
    diameters.push_back(screw_for_hole_mm(hole.diameter_mm));
  }
  std::vector<Fit> fits = fits_for(screws, own, offered);
  for (std::size_t i = 0; i < fits.size(); ++i) fits[i].float_mm = std::max(0.0, (fits[i].float_mm - diameters[i]) / 2);
  if (fits.size() < screws.size() || !lines_up(fits))
    return {"holes", "its holes miss the screws by " + decimal(std::max(off_by(fits), 0.0), 2) + " mm"};
  return {};
}

double beyond(Vec2 p, Vec2 centre, Vec2 half) {
  const Vec2 d{std::max(std::fabs(p.x - centre.x) - half.x, 0.0), std::max(std::fabs(p.y - centre.y) - half.y, 0.0)};
  return length(d);
}

double radius_of(const Feature& f) {
  const PlaneBox box = bounding_box(f.profile.front());
  return (box.high.x - box.low.x) / 2;
}

/// What hangs below the carriage's top must stand clear of carriages, rails and the base.
Block bosses(const Surroundings& around, const Offered& offered) {
  const CarriageSize& carriage = around.kit.carriages.size;
  const RailSize& rail = around.kit.rails.size;
  for (const Feature& f : offered.part->features) {
    if (f.kind != FeatureKind::boss || f.effect != Effect::add) continue;
    const Vec2 centre = posed(offered, {f.at.x, f.at.y});
    const double radius = radius_of(f);
    const auto end = [&](const Bound& bound) {
      return posed_z(offered,
                     bound.kind == Bound::Kind::flat ? bound.z_mm : height_at(offered.part->seat, {f.at.x, f.at.y}));
    };
    const double lowest = std::min(end(f.from), end(f.to));
    if (lowest > -touch_mm) continue;
    for (const Placement& p : around.layout.placements) {
      const Vec2 at = p.at - around.placement.at;
      if (beyond(centre, at, {carriage.width_mm / 2, carriage.length_mm / 2}) < radius - touch_mm)
        return {"boss", "its " + f.id + " hits the carriage" + (p.id == around.placement.id ? "" : " " + p.id)};
      const bool by_rail = std::fabs(centre.x - at.x) < rail.width_mm / 2 + radius - touch_mm;
      if (by_rail && lowest < -(carriage.assembly_height_mm - rail.height_mm) - touch_mm)
        return {"boss", "its " + f.id + " hits the rail"};
    }
    if (lowest < -carriage.assembly_height_mm - touch_mm) return {"boss", "its " + f.id + " hits the base"};
  }
  return {};
}

/// Depth to which two convex outlines overlap: the least over all edge normals of both.
double overlap_mm(const std::vector<EdgePoint>& a, const std::vector<EdgePoint>& b) {
  double least = 1e300;
  const auto try_normals = [&](const std::vector<EdgePoint>& from, const std::vector<EdgePoint>& other) {
    for (const EdgePoint& e : from) {
      double nearest = 1e300;
      for (const EdgePoint& p : other) nearest = std::min(nearest, dot(p.at - e.at, e.outward));
      least = std::min(least, -nearest);
    }
  };
  try_normals(a, b);
  try_normals(b, a);
  return least;
}

constexpr double outline_step_mm = 1;

bool boxes_apart(const Loop& a, const Loop& b) {
  const PlaneBox p = bounding_box(a), q = bounding_box(b);
  return p.high.x < q.low.x || q.high.x < p.low.x || p.high.y < q.low.y || q.high.y < p.low.y;
}

double overlap_mm(const Piece& a, const Piece& b) {
  if (std::min(a.high_mm, b.high_mm) - std::max(a.low_mm, b.low_mm) <= touch_mm || boxes_apart(a.loop, b.loop))
    return 0;
  return overlap_mm(edge_points(a.loop, outline_step_mm), edge_points(b.loop, outline_step_mm));
}

Block edges(const Surroundings& around, const Offered& offered) {
  const std::vector<Piece> own = pieces_of(offered);
  std::vector<Piece> right;
  for (const Piece& neighbour : around.neighbours)
    for (const Piece& piece : own) {
      const double depth = overlap_mm(piece, neighbour);
      if (depth <= touch_mm) continue;
      // Plates that meet even the right way round are not told apart by meeting.
      if (right.empty()) right = pieces_of({&around.right, false, around.right_quarter, 0});
      if (std::any_of(right.begin(), right.end(), [&](const Piece& r) { return overlap_mm(r, neighbour) > touch_mm; }))
        continue;
      const std::string by = decimal(depth, 2) + " mm into the next plate";
      if (piece.key) return {"key", "its key runs " + by + (neighbour.key ? "'s key" : "")};
      if (neighbour.key) return {"key", "its edge runs " + by + "'s key"};
      return {"edge", "its edge runs " + by};
    }
  return {};
}

Block neighbours_below(const Surroundings& around, const Offered& offered, const std::vector<FacePoint>& underneath) {
  const CarriageSize& carriage = around.kit.carriages.size;
  const Vec2 half{carriage.width_mm / 2, carriage.length_mm / 2};
  for (const FacePoint& point : underneath) {
    if (posed_z(offered, point.z_mm) > -touch_mm) continue;
    for (const Placement& p : around.layout.placements)
      if (p.id != around.placement.id && beyond(posed(offered, point.at), p.at - around.placement.at, half) <= 0)
        return {"edge", "its edge hits the carriage " + p.id};
  }
  return {};
}

}  // namespace

std::vector<Piece> pieces_of(const Offered& offered, Vec2 at) {
  std::vector<Piece> pieces;
  const Transform t = compose(shift({at.x, at.y, 0}), plane_transform(offered));
  for (const Feature& f : offered.part->features) {
    if (f.kind != FeatureKind::outline && f.kind != FeatureKind::key) continue;
    const auto end = [&](const Bound& bound) {
      return posed_z(offered, bound.kind == Bound::Kind::flat ? bound.z_mm : height_at(offered.part->seat, {}));
    };
    const double a = end(f.from), b = end(f.to);
    pieces.push_back({transformed(f.profile.front(), t), std::min(a, b), std::max(a, b), f.kind == FeatureKind::key});
  }
  return pieces;
}

Block blocked_by_keys(const Surroundings& around, const Offered& offered) {
  const CarriageSize& carriage = around.kit.carriages.size;
  const RailSize& rail = around.kit.rails.size;
  const double rail_top = rail.height_mm - carriage.assembly_height_mm;
  for (const Piece& key : pieces_of(offered)) {
    if (!key.key) continue;
    if (key.low_mm < -carriage.assembly_height_mm - touch_mm) return {"key", "its key hits the base"};
    for (const Placement& p : around.layout.placements) {
      const Vec2 at = p.at - around.placement.at;
      const Piece block{rectangle_loop(at, {carriage.width_mm, carriage.length_mm}, 0), -carriage.assembly_height_mm, 0,
                        false};
      if (overlap_mm(key, block) > touch_mm)
        return {"key", "its key hits the carriage" + (p.id == around.placement.id ? "" : " " + p.id)};
      const Piece bar{rectangle_loop(at, {rail.width_mm, 2 * around.kit.rails.length_mm}, 0),
                      -carriage.assembly_height_mm, rail_top, false};
      if (overlap_mm(key, bar) > touch_mm) return {"key", "its key hits the rail"};
    }
    for (const Piece& neighbour : around.neighbours)
      if (const double depth = overlap_mm(key, neighbour); depth > touch_mm)
        return {"key",
                "its key runs " + decimal(depth, 2) + " mm into the next plate" + (neighbour.key ? "'s key" : "")};
  }
  return {};
}

Block keys_meet_keep_outs(const Surroundings& around, const Offered& offered) {
  const double travel = std::max(around.layout.travel_available_mm, 0.0) / 2;
  for (const Piece& key : pieces_of(offered, around.placement.at)) {
    if (!key.key) continue;
    const PlaneBox box = bounding_box(key.loop);
    for (const Json& keep_out : around.kit.keep_outs) {
      const auto at = [&](const char* corner, std::size_t i) { return keep_out.at(corner).at(i).get<double>(); };
      const bool apart = box.high.x <= at("min_mm", 0) || box.low.x >= at("max_mm", 0) ||
                         box.high.y + travel <= at("min_mm", 1) || box.low.y - travel >= at("max_mm", 1) ||
                         key.high_mm <= at("min_mm", 2) || key.low_mm >= at("max_mm", 2);
      if (!apart) return {"key", "its key meets the keep-out " + keep_out.at("id").get<std::string>() + " on its way"};
    }
  }
  return {};
}

namespace {

struct Resting {
  std::vector<Vec2> at;
  std::vector<double> high;  ///< of the upper face, part frame
};

/// What of the upper face lies over the carriage's top once the part is turned over.
Resting over_the_carriage(const Surroundings& around, const Offered& offered) {
  Part body = *offered.part;
  for (Feature& f : body.features)
    if (f.kind == FeatureKind::boss || f.kind == FeatureKind::key) f.effect = Effect::none;
  const CarriageSize& carriage = around.kit.carriages.size;
  Vec2 half{carriage.width_mm / 2, carriage.length_mm / 2};
  if (body.family != "adapter_plate") {
    const PlaneBox box = bounding_box(transformed(body.features.front().profile.front(), plane_transform(offered)));
    half = {std::max(box.high.x, -box.low.x), std::max(box.high.y, -box.low.y)};
  }
  const Face face(body, true);
  Resting resting;
  const auto rest = [&](Vec2 p) {
    const auto z = face.at(in_part(offered, p));
    if (!z) return;
    resting.at.push_back(p);
    resting.high.push_back(*z);
  };
  const int nx = int(std::ceil(2 * half.x / rest_step_mm)), ny = int(std::ceil(2 * half.y / rest_step_mm));
  for (int i = 0; i <= nx; ++i)
    for (int j = 0; j <= ny; ++j) rest({half.x * (2.0 * i / nx - 1), half.y * (2.0 * j / ny - 1)});
  for (const Feature& f : body.features) {
    if (f.effect != Effect::cut || f.kind == FeatureKind::mark) continue;
    for (const Loop& loop : f.profile)
      for (const EdgePoint& e : edge_points(loop, rest_step_mm)) {
        const Vec2 p = posed(offered, e.at + rim_mm * e.outward);
        if (std::fabs(p.x) <= half.x && std::fabs(p.y) <= half.y) rest(p);
      }
  }
  return resting;
}

}  // namespace

double seating_lift_mm(const Surroundings& around, const Offered& offered) {
  if (!offered.flipped) return 0;
  const Resting resting = over_the_carriage(around, offered);
  return resting.high.empty() ? 0 : *std::max_element(resting.high.begin(), resting.high.end());
}

double resting_deg(const Surroundings& around, const Offered& offered) {
  if (!offered.flipped) return 0;
  const Resting resting = over_the_carriage(around, offered);
  return resting.at.size() < 3 ? 0 : atan2_rad(length(resting_tilt(resting.at, resting.high)), 1) / rad_per_deg;
}

std::vector<double> odd_angles(const Surroundings& around, const Offered& offered) {
  std::vector<double> angles;
  if (offered.part->family == "adapter_plate") return angles;  // four threads in a rectangle admit quarters only
  const std::vector<HoleSpot> holes = mounting_holes(*offered.part), screws = mounting_holes(around.right);
  const Offered right{&around.right, false, around.right_quarter, 0};
  if (holes.size() < 2 || screws.size() != holes.size()) return angles;
  // Any turn that fits takes the first hole that is off the middle to some screw.
  const auto off = std::find_if(holes.begin(), holes.end(), [](const HoleSpot& h) { return length(h.at) > 1; });
  if (off == holes.end()) return angles;
  const Vec2 from = posed(offered, off->at);
  for (const HoleSpot& screw : screws) {
    const Vec2 to = posed(right, screw.at);
    if (std::fabs(length(to) - length(from)) > 1) continue;
    double deg = atan2_rad(cross(from, to), dot(from, to)) / rad_per_deg;
    if (deg < 0) deg += 360;
    const double past = deg - 90 * std::round(deg / 90);
    if (std::fabs(past) < odd_deg) continue;
    Offered turned = offered;
    turned.odd_deg = deg;
    if (blocked_by_holes(around, turned).what.empty()) angles.push_back(deg);
  }
  std::sort(angles.begin(), angles.end());
  return angles;
}

Block blocked_by_holes(const Surroundings& around, const Offered& offered) {
  return offered.part->family == "adapter_plate" ? plate_holes(around, offered) : other_holes(around, offered);
}

Block blocked_by_bodies(const Surroundings& around, const Offered& offered, const std::vector<FacePoint>& underneath) {
  Block block = bosses(around, offered);
  if (block.what.empty()) block = blocked_by_keys(around, offered);
  if (block.what.empty() && offered.part->family == "adapter_plate") block = edges(around, offered);
  if (block.what.empty() && offered.flipped) block = neighbours_below(around, offered, underneath);
  return block;
}

}  // namespace bedwright
