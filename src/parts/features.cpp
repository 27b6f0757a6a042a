#include "parts/features.h"

#include <algorithm>
#include <cmath>

#include "base/lattice.h"
#include "base/trig.h"
#include "layout/layout.h"

namespace bedwright {
namespace {

// A printer profile may take more from a tiny hole than it has; the model keeps this much.
constexpr double least_diameter_mm = 0.2;

double modelled_diameter(double nominal, double compensation) {
  return std::max(nominal + compensation, least_diameter_mm);
}

void add_position(Feature& feature, Vec2 at) {
  feature.dimensions.push_back(dimension("x", at.x, position_tolerance_mm));
  feature.dimensions.push_back(dimension("y", at.y, position_tolerance_mm));
}

Feature round(const std::string& id, FeatureKind kind, Effect effect, Vec2 at, double nominal, double added,
              Facets facets) {
  Feature f;
  f.id = id;
  f.kind = kind;
  f.effect = effect;
  const double modelled = modelled_diameter(nominal, added);
  f.profile = {circle_loop(at, modelled / 2, facets)};
  f.dimensions = {dimension("diameter", nominal, modelled, diameter_tolerance_mm)};
  add_position(f, at);
  return f;
}

Feature long_hole(const std::string& id, FeatureKind kind, Vec2 at, double nominal, double extra, Vec2 along,
                  double added) {
  Feature f;
  f.id = id;
  f.kind = kind;
  f.effect = Effect::cut;
  const double modelled = modelled_diameter(nominal, added);
  f.profile = {slot_loop(at, modelled / 2, extra, along, Facets::outside)};
  f.dimensions = {dimension("width", nominal, modelled, diameter_tolerance_mm),
                  dimension("length", nominal + extra, modelled + extra, diameter_tolerance_mm)};
  add_position(f, at);
  return f;
}

void between(Feature& f, Bound from, Bound to, Vec2 at, double z_open, Vec3 axis) {
  f.from = from;
  f.to = to;
  f.at = {at.x, at.y, z_open};
  f.axis = axis;
}

/// Points of a loop's edge, dense enough for a slope: line ends, and arcs at 1/64 turn.
std::vector<Vec2> edge_points(const Loop& loop) {
  Loop fine = loop;
  fine.facets = Facets::inside;
  const double radius = loop.circle ? loop.radius : 1.0;
  return polygonised(fine, 1e-3 * std::max(radius, 1.0));
}

}  // namespace

Dimension dimension(const char* quantity, double nominal, double modelled, double tolerance) {
  Dimension d;
  d.quantity = quantity;
  d.nominal_mm = nominal;
  d.modelled_mm = modelled;
  d.tolerance_mm = tolerance;
  return d;
}

Dimension dimension(const char* quantity, double value, double tolerance) {
  return dimension(quantity, value, value, tolerance);
}

Feature clearance_hole(const std::string& id, Vec2 at, double diameter_mm, Bound from, Bound to, double z_open,
                       const Compensation& compensation) {
  Feature f =
      round(id, FeatureKind::clearance_hole, Effect::cut, at, diameter_mm, compensation.hole_mm, Facets::outside);
  between(f, from, to, at, z_open, {0, 0, 1});
  return f;
}

Feature counterbore(const std::string& id, Vec2 at, double diameter_mm, double floor_z, double z_open,
                    const Compensation& compensation) {
  Feature f = round(id, FeatureKind::counterbore, Effect::cut, at, diameter_mm, compensation.hole_mm, Facets::outside);
  between(f, Bound::at(floor_z), Bound::open(), at, z_open, {0, 0, 1});
  f.dimensions.push_back(dimension("floor", floor_z, height_tolerance_mm));
  return f;
}

Feature clearance_slot(const std::string& id, Vec2 at, double diameter_mm, double extra_mm, Vec2 along, Bound from,
                       Bound to, double z_open, const Compensation& compensation) {
  if (extra_mm <= 0) return clearance_hole(id, at, diameter_mm, from, to, z_open, compensation);
  Feature f = long_hole(id, FeatureKind::slot, at, diameter_mm, extra_mm, along, compensation.hole_mm);
  between(f, from, to, at, z_open, {0, 0, 1});
  return f;
}

Feature counterbore_slot(const std::string& id, Vec2 at, double diameter_mm, double extra_mm, Vec2 along,
                         double floor_z, double z_open, const Compensation& compensation) {
  if (extra_mm <= 0) return counterbore(id, at, diameter_mm, floor_z, z_open, compensation);
  Feature f = long_hole(id, FeatureKind::counterbore_slot, at, diameter_mm, extra_mm, along, compensation.hole_mm);
  between(f, Bound::at(floor_z), Bound::open(), at, z_open, {0, 0, 1});
  f.dimensions.push_back(dimension("floor", floor_z, height_tolerance_mm));
  return f;
}

Feature insert_pocket(const std::string& id, Vec2 at, double diameter_mm, double z_open, double depth_mm,
                      const Compensation& compensation) {
  Feature f =
      round(id, FeatureKind::insert_pocket, Effect::cut, at, diameter_mm, compensation.hole_mm, Facets::outside);
  between(f, Bound::open(), Bound::at(z_open + depth_mm), at, z_open, {0, 0, -1});
  f.dimensions.push_back(dimension("depth", depth_mm, height_tolerance_mm));
  return f;
}

Feature teardrop_hole(const std::string& id, FeatureKind kind, Along along, Vec3 at, Vec3 axis, double diameter_mm,
                      Bound from, Bound to, double up, const Compensation& compensation) {
  Feature f;
  f.id = id;
  f.kind = kind;
  f.effect = Effect::cut;
  f.along = along;
  const double modelled = modelled_diameter(diameter_mm, compensation.hole_mm), point = std::sqrt(0.5);
  f.profile = {teardrop_loop(in_plane(along, at), modelled / 2, {0, up}, Facets::outside)};
  f.from = from;
  f.to = to;
  f.at = at;
  f.axis = axis;
  f.dimensions = {dimension("diameter", diameter_mm, modelled, diameter_tolerance_mm),
                  dimension("point", diameter_mm * point, modelled * point, diameter_tolerance_mm)};
  if (along == Along::x)
    f.dimensions.push_back(dimension("y", at.y, position_tolerance_mm));
  else
    f.dimensions.push_back(dimension("x", at.x, position_tolerance_mm));
  f.dimensions.push_back(dimension("z", at.z, position_tolerance_mm));
  return f;
}

bool is_upright_hole(const Feature& feature) {
  if (crosses(feature) || feature.effect != Effect::cut || feature.profile.size() != 1) return false;
  switch (feature.kind) {
    case FeatureKind::clearance_hole:
    case FeatureKind::counterbore:
    case FeatureKind::slot:
    case FeatureKind::counterbore_slot:
    case FeatureKind::insert_pocket:
      return true;
    default:
      return false;
  }
}

Feature boss_down(const std::string& id, Vec2 at, double diameter_mm, double to_z, double height_mm,
                  const Compensation& compensation) {
  Feature f = round(id, FeatureKind::boss, Effect::add, at, diameter_mm, compensation.outline_mm, Facets::inside);
  between(f, Bound::at(to_z - height_mm), Bound::at(to_z), at, to_z - height_mm, {0, 0, -1});
  f.dimensions.push_back(dimension("height", height_mm, height_tolerance_mm));
  return f;
}

Feature boss_to_seat(const std::string& id, Vec2 at, double diameter_mm, double from_z, double z_seat,
                     const Compensation& compensation) {
  Feature f = round(id, FeatureKind::boss, Effect::add, at, diameter_mm, compensation.outline_mm, Facets::inside);
  between(f, Bound::at(from_z), Bound::at_seat(), at, z_seat, {0, 0, 1});
  return f;
}

Feature outline(const Loop& nominal, const Loop& modelled, Bound from, Bound to, double chamfer_mm, double chord_mm) {
  Feature f;
  f.id = "outline";
  f.kind = FeatureKind::outline;
  f.effect = Effect::add;
  f.profile = {modelled};
  f.from = from;
  f.to = to;
  f.chamfer_mm = chamfer_mm;
  const PlaneBox drawn = bounding_box(nominal), made = bounding_box(modelled);
  // Facets lie inside the curve: an extent may be short by one chord at each end.
  const double tolerance = 2 * chord_mm + height_tolerance_mm;
  f.dimensions = {dimension("length", drawn.high.x - drawn.low.x, made.high.x - made.low.x, tolerance),
                  dimension("width", drawn.high.y - drawn.low.y, made.high.y - made.low.y, tolerance)};
  return f;
}

HeightRange heights_over(const Surface& surface, const std::vector<Loop>& loops) {
  if (surface.slope == Vec2{}) {
    const SagRange sag = sag_over(surface, loops);
    if (surface.sign > 0) return {surface.height - sag.greatest, surface.height - sag.least};
    return {surface.height + sag.least, surface.height + sag.greatest};
  }
  HeightRange range;
  bool first = true;
  const auto take = [&](double z) {
    range.least = first ? z : std::min(range.least, z);
    range.greatest = first ? z : std::max(range.greatest, z);
    first = false;
  };
  for (const Loop& loop : loops) {
    if (surface.shape == SurfaceShape::plane && loop.circle) {
      const double middle = height_at(surface, loop.centre), tilt = length(surface.slope) * loop.radius;
      take(middle - tilt);
      take(middle + tilt);
    } else {
      for (Vec2 p : edge_points(loop)) take(height_at(surface, p));
    }
  }
  return range;
}

Feature seat(const Surface& surface, const std::vector<Loop>& nominal, const std::vector<Loop>& seats,
             double chord_mm) {
  Feature f;
  f.id = "seat";
  f.kind = FeatureKind::seat;
  f.profile = seats;
  f.from = f.to = Bound::at_seat();
  f.dimensions.push_back(dimension("thickness", heights_over(surface, nominal).least,
                                   heights_over(surface, seats).least, thickness_tolerance_mm));
  PlaneBox box = bounding_box(seats.front());
  for (const Loop& loop : seats) {
    const PlaneBox b = bounding_box(loop);
    box.low = {std::min(box.low.x, b.low.x), std::min(box.low.y, b.low.y)};
    box.high = {std::max(box.high.x, b.high.x), std::max(box.high.y, b.high.y)};
  }
  const Vec2 middle = 0.5 * (box.low + box.high);
  f.at = {middle.x, middle.y, surface.height};
  if (surface.shape == SurfaceShape::plane) {
    f.at.z = height_at(surface, middle);
    if (!(surface.slope == Vec2{})) {
      // Lattice steps over the part's length, and as much again for the segmentation.
      const double tolerance = 4 * Lattice{}.step_mm / std::max(1.0, length(box.high - box.low)) + 1e-6;
      f.dimensions.push_back(dimension("slope_x", surface.slope.x, tolerance));
      f.dimensions.push_back(dimension("slope_y", surface.slope.y, tolerance));
    }
    return f;
  }
  if (surface.shape == SurfaceShape::measured) {
    f.at.z = height_at(surface, middle);
    f.dimensions.push_back(dimension("deviation", 0, chord_mm + 2 * Lattice{}.step_mm));
    return f;
  }
  f.at = {surface.apex.x, surface.apex.y, surface.height};
  // A radius is read from the sag across the seat, whose vertices are off by half a lattice step: dR / R = dz / sag.
  // The apex lies where the slope is nothing: off by R dz / a, and by its distance times dR / R.
  const double a = 0.5 * length(box.high - box.low), step = Lattice{}.step_mm;
  const double far = length(surface.apex - middle);
  const auto relative = [&](double radius) { return 1e-3 + 2 * step / std::max(a * a / (2 * radius), step); };
  const auto apex_tolerance = [&](double radius) {
    return 0.5 + far * relative(radius) + 2 * radius * step / std::max(a, 1.0);
  };
  const double Rx = surface.radius_x, Ry = surface.radius_y;
  switch (surface.shape) {
    case SurfaceShape::sphere:
      f.dimensions.push_back(dimension("radius", Rx, Rx * relative(Rx)));
      f.dimensions.push_back(dimension("apex_x", surface.apex.x, apex_tolerance(Rx)));
      f.dimensions.push_back(dimension("apex_y", surface.apex.y, apex_tolerance(Rx)));
      break;
    case SurfaceShape::cylinder:
      f.dimensions.push_back(dimension("radius", Rx, Rx * relative(Rx)));
      if (std::fabs(surface.local_x.x) > 0.5)
        f.dimensions.push_back(dimension("apex_x", surface.apex.x, apex_tolerance(Rx)));
      else
        f.dimensions.push_back(dimension("apex_y", surface.apex.y, apex_tolerance(Rx)));
      break;
    default: {
      // Seen along the part's own axes: a quarter turn swaps the two.
      const bool straight = std::fabs(surface.local_x.x) > 0.5;
      const double along_x = straight ? Rx : Ry, along_y = straight ? Ry : Rx;
      f.dimensions.push_back(dimension("radius_x", along_x, along_x * relative(along_x)));
      f.dimensions.push_back(dimension("radius_y", along_y, along_y * relative(along_y)));
      f.dimensions.push_back(dimension("apex_x", surface.apex.x, apex_tolerance(along_x)));
      f.dimensions.push_back(dimension("apex_y", surface.apex.y, apex_tolerance(along_y)));
    }
  }
  return f;
}

}  // namespace bedwright
