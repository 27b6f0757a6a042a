#include "layout/layout.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/heights.h"
#include "layout/plate_outline.h"
#include "layout/plate_settings.h"
#include "survey/kit_bed_map.h"
#include "survey/measured_fit.h"

namespace bedwright {
namespace {

// Two carriages nearer to equal than this cannot be told apart with a caliper (+-0.03 mm, ISO 13385-1 class).
constexpr double ambiguous_mm = 0.05;
// Least distance of a rail's end from the rim of its outermost counterbore (common practice, no source).
constexpr double rail_end_wall_mm = 1.5;
// A rail's two ends differ by up to this without a word.
constexpr double uneven_cut_mm = 0.5;
// A measured surface that leans by less than this from corner to corner needs no word about it.
constexpr double least_tilt_mm = 0.1;

std::string at_text(Vec2 p) {
  return "(" + decimal(p.x, 2) + ", " + decimal(p.y, 2) + ")";
}

std::array<Placement, 4> place_carriages(const Kit& kit) {
  const double x = kit.rails.pitch_mm / 2, y = kit.carriages.spacing_mm / 2;
  std::array<Placement, 4> placements;
  const Vec2 at[4] = {{-x, -y}, {x, -y}, {-x, y}, {x, y}};
  for (int i = 0; i < 4; ++i) placements[i] = {placement_ids[i], at[i], {}};
  return placements;
}

void give_holes(const Kit& kit, std::array<Placement, 4>& placements, std::vector<Problem>& problems) {
  const std::string pointer = "/frame/hole_pattern";
  for (const FrameHole& hole : kit.frame.holes) {
    int nearest = 0;
    double distances[4];
    for (int i = 0; i < 4; ++i) distances[i] = length(hole.at_mm - placements[i].at);
    for (int i = 1; i < 4; ++i)
      if (distances[i] < distances[nearest]) nearest = i;
    int second = nearest == 0 ? 1 : 0;
    for (int i = 0; i < 4; ++i)
      if (i != nearest && distances[i] < distances[second]) second = i;
    const std::string where = "hole \"" + hole.id + "\" at " + at_text(hole.at_mm);
    if (distances[second] - distances[nearest] < ambiguous_mm) {
      problems.push_back({pointer, at_text(hole.at_mm),
                          where + " is as near to carriage " + placements[nearest].id + " as to " +
                              placements[second].id + " (" + decimal(distances[nearest], 2) + " mm)",
                          "leave it out of the pattern, or move it so that it clearly belongs to one carriage"});
    } else if (distances[nearest] > kit.frame.reach_mm) {
      problems.push_back({pointer, at_text(hole.at_mm),
                          where + " is " + decimal(distances[nearest], 2) + " mm from its nearest carriage, " +
                              placements[nearest].id + "; /frame/reach_mm allows " + decimal(kit.frame.reach_mm, 2),
                          "check pitch_mm and centre_mm, or raise reach_mm"});
    } else {
      placements[nearest].holes.push_back(hole);
    }
  }
}

/// Farthest point of a loop from p, or nearer by less than its arcs' sagitta: an upper bound is what is wanted.
double farthest(const Loop& loop, Vec2 p) {
  if (loop.circle) return length(loop.centre - p) + loop.radius;
  double far = 0;
  for (const Curve& c : loop.curves) {
    far = std::max(far, length(c.start - p));
    if (c.arc) far = std::max(far, length(c.centre - p) + c.radius);
  }
  return far;
}

std::string span_text(double low, double high) {
  return decimal(low, 1) + " to " + decimal(high, 1);
}

/// Plates may reach a little beyond the measured points, never far.
void require_points(const Kit& kit, const MeasuredShape& shape, const std::vector<PlateFootprint>& plates,
                    const std::array<Placement, 4>& placements) {
  double far = 0;
  std::string where;
  PlaneBox all{{1e300, 1e300}, {-1e300, -1e300}};
  for (const PlateFootprint& plate : plates)
    for (const Placement& p : placements) {
      if (p.id != plate.placement) continue;
      const PlaneBox b = bounding_box(plate.outline);
      all.low = {std::min(all.low.x, b.low.x + p.at.x), std::min(all.low.y, b.low.y + p.at.y)};
      all.high = {std::max(all.high.x, b.high.x + p.at.x), std::max(all.high.y, b.high.y + p.at.y)};
      const double beyond = beyond_points_mm(shape, plate, p);
      if (beyond <= far) continue;
      far = beyond;
      where = plate.part + " at " + p.id;
    }
  if (far <= shape.beyond_mm) return;
  throw BadInput("kit " + kit.name,
                 {{"/frame/dome/points", kit.frame.dome.points_file,
                   "the points cover X " + span_text(shape.low.x, shape.high.x) + ", Y " +
                       span_text(shape.low.y, shape.high.y) + " mm; " + where + " reaches " + decimal(far, 1) +
                       " mm beyond them, and " + decimal(shape.beyond_mm, 1) + " mm is the most",
                   "measure from X " + span_text(all.low.x, all.high.x) + ", Y " + span_text(all.low.y, all.high.y) +
                       " mm, counted from the centre of the four carriages"}});
}

void state_measured(const Kit& kit, const MeasuredShape& shape, std::vector<std::string>& assumptions) {
  const std::size_t used = shape.points - shape.outliers.size();
  std::string text = "measured surface through " + std::to_string(used) + " of " + std::to_string(shape.points) +
                     " points of " + kit.frame.dome.points_file + ", z up";
  if (kit.frame.dome.measured_on_upper)
    text += ", lowered to the underside by " + decimal(kit.frame.sheet_thickness_mm, 2) + " mm along the normal";
  text += used < least_points_to_judge
              ? "; so few points give a plain quadric"
              : "; " + decimal(shape.free_values, 1) + " free values by cross-validation (a plain quadric has 6)";
  assumptions.push_back(text + ": the points are off it by " + decimal(shape.largest_mm, 3) + " mm at most");
  const double tilt = length(shape.tilt);
  if (tilt * length(shape.high - shape.low) < least_tilt_mm) return;
  assumptions.push_back("the points lean: " + decimal(1000 * shape.tilt.x, 2) + " mm a metre up to the right, " +
                        decimal(1000 * shape.tilt.y, 2) +
                        " to the rear; that is kept, so z must be counted from a plane parallel to the rails");
}

void require_reach(const Kit& kit, const Surface& underside, const std::vector<PlateFootprint>& plates,
                   const std::array<Placement, 4>& placements) {
  if (underside.shape == SurfaceShape::plane) return;
  if (underside.shape == SurfaceShape::measured) return require_points(kit, *underside.measured, plates, placements);
  double far = 0;
  for (const PlateFootprint& plate : plates)
    for (const Placement& p : placements)
      if (p.id == plate.placement) far = std::max(far, farthest(plate.outline, underside.apex - p.at));
  const double radius = underside.shape == SurfaceShape::two_radius ? std::min(underside.radius_x, underside.radius_y)
                                                                    : underside.radius_x;
  if (far <= largest_reach_of_radius * radius) return;
  const std::string key = underside.shape == SurfaceShape::two_radius
                              ? (underside.radius_x < underside.radius_y ? "radius_x_mm" : "radius_y_mm")
                              : "radius_mm";
  throw BadInput(
      "kit " + kit.name,
      {{"/frame/dome/" + key, decimal(radius, 3),
        "a radius of " + decimal(radius, 2) + " mm on the underside does not reach the plates, " + decimal(far, 1) +
            " mm from the apex; at least " + decimal(far / largest_reach_of_radius, 0) + " mm is needed",
        "a bed frame's radius is usually some thousand millimetres"}});
}

double common_height(const Surface& underside, const std::vector<PlateFootprint>& plates,
                     const std::array<Placement, 4>& placements) {
  double height = 0;
  bool first = true;
  for (const PlateFootprint& plate : plates)
    for (const Placement& p : placements) {
      if (p.id != plate.placement) continue;
      const Surface seen = transformed(underside, shift({-p.at.x, -p.at.y, 0}));
      const SagRange sag = sag_over(seen, plate.seats);
      const double wanted = plate.thickness_mm + (underside.sign > 0 ? sag.greatest : -sag.least);
      height = first ? wanted : std::max(height, wanted);  // below zero where a hollow's bottom is far off
      first = false;
    }
  return height;
}

/// Bed edge over the bearings: half its depth and half its width; the farthest holes where no bed is given.
Vec2 bed_arms(const Kit& kit, std::vector<std::string>& assumptions) {
  if (kit.bed && kit.bed->size_mm.x > 0 && kit.bed->size_mm.y > 0)
    return {kit.bed->size_mm.x / 2, kit.bed->size_mm.y / 2};
  Vec2 arm{kit.rails.pitch_mm / 2, kit.carriages.spacing_mm / 2};
  for (const std::vector<FrameHole>* holes : {&kit.frame.holes, &kit.frame.mounts})
    for (const FrameHole& hole : *holes)
      arm = {std::max(arm.x, std::fabs(hole.at_mm.x)), std::max(arm.y, std::fabs(hole.at_mm.y))};
  assumptions.push_back("no bed size is given: rocking is stated at the outermost holes, " + decimal(arm.y, 1) +
                        " mm front and rear, " + decimal(arm.x, 1) + " mm to the sides");
  return arm;
}

void settle_rail_holes(const Kit& kit, Layout& layout) {
  const RailSize& rail = kit.rails.size;
  const double L = kit.rails.length_mm, P = rail.hole_pitch_mm, E = rail.end_distance_mm;
  const RailHoles holes = rail_holes(L, P, E);
  if (holes.count == 0) {
    layout.assumptions.push_back("the rail's holes are not known: measure the first one from the rail's end");
    return;
  }
  layout.rail_holes = holes.count;
  layout.rail_first_hole_mm = holes.first_mm;
  std::string text = "rail of " + decimal(L, 2) + " mm: " + std::to_string(holes.count) + " holes, the first " +
                     decimal(holes.first_mm, 2) + " mm from the end (pitch " + decimal(P, 2) +
                     ", end distance at least " + decimal(E, 2) + ")";
  // An end distance other than the table's was measured on the rail itself: nothing is left open then.
  const RailSize* table = find_rail(rail.id);
  const bool measured = table && std::fabs(table->end_distance_mm - E) > 1e-9;
  if (measured && std::fabs(holes.first_mm - E) > uneven_cut_mm) {
    text += "; you measured " + decimal(E, 2) + " mm, so the rail's other end has " +
            decimal(L - (holes.count - 1) * P - E, 2) + ", or its length or pitch is not as written";
  } else if (!measured) {
    for (const RailHoles& way : possible_rail_holes(L, P, rail.counterbore_mm / 2 + rail_end_wall_mm, E))
      if (way.count != holes.count) {
        layout.other_rail_holes.push_back(way);
        text += "; a rail cut with " + std::to_string(way.count) + " holes, the first at " + decimal(way.first_mm, 2) +
                " mm, is possible too: measure yours";
      }
  }
  layout.assumptions.push_back(text);
}

/// What the two carriages on one rail take of it: their measured lengths, on the rail where they are longer.
double bodies_mm(const Kit& kit, const std::optional<CarriagePairing>& pairing) {
  const double drawn = kit.carriages.size.length_mm;
  if (!pairing) return drawn;
  const auto at = [&](std::size_t placement) {
    return kit.carriages.measured[pairing->carriage[placement]].length_mm.value_or(drawn);
  };
  return std::max(at(0) + at(2), at(1) + at(3)) / 2;
}

}  // namespace

double beyond_points_mm(const MeasuredShape& shape, const PlateFootprint& plate, const Placement& placement) {
  double far = 0;  // distance from a convex hull is convex: greatest at a vertex
  for (Vec2 p : polygonised(plate.outline, 0.01)) far = std::max(far, beyond_data(shape, p + placement.at));
  return far;
}

Layout settle(const Kit& kit) {
  require_bed_map(kit);
  Layout layout;
  layout.placements = place_carriages(kit);
  layout.carriage_spacing_mm = kit.carriages.spacing_mm;
  std::vector<Problem> problems;
  give_holes(kit, layout.placements, problems);
  for (const PartRequest& request : kit.parts) {
    if (request.family != "adapter_plate") continue;
    const PlateSettings settings = plate_settings(kit, request);
    for (const std::string& id : placements_of(request)) {
      const Placement& placement = *std::find_if(layout.placements.begin(), layout.placements.end(),
                                                 [&](const Placement& p) { return p.id == id; });
      if (placement.holes.empty()) {
        if (problems.empty())
          problems.push_back(
              {request.pointer, id,
               "no frame hole belongs to carriage " + id + ", so an adapter plate there has nothing to hold",
               "check /frame/hole_pattern, or list the other placements only"});
        continue;
      }
      PlateFootprint plate;
      plate.part = request.id;
      plate.placement = id;
      plate.outline = plate_outline(kit.carriages.size, placement, settings, 0);
      plate.seats = plate_seats(plate.outline, kit.carriages.size, placement, settings, 0);
      plate.thickness_mm = settings.thickness_mm;
      layout.plates.push_back(std::move(plate));
    }
  }
  if (!problems.empty()) throw BadInput("kit " + kit.name, problems);

  const Surface at_zero = make_underside(kit.frame, 0);
  require_reach(kit, at_zero, layout.plates, layout.placements);
  layout.height_mm = common_height(at_zero, layout.plates, layout.placements);
  if (layout.plates.empty())
    layout.assumptions.push_back("no adapter plate is asked for: the sheet's underside is taken at z = 0 at the apex");
  layout.underside = at_zero;
  layout.underside.height = layout.height_mm;
  if (at_zero.measured) state_measured(kit, *at_zero.measured, layout.assumptions);

  const RailSettings& rails = kit.rails;
  layout.pairing = pair_carriages(kit.carriages.measured, guideway_limits(kit));
  const double reach = (kit.carriages.spacing_mm + bodies_mm(kit, layout.pairing)) / 2;
  const RailStops stops = rails.stops.value_or(RailStops{});
  layout.travel_front_mm = reach + std::max(rails.end_margin_mm, stops.front_mm) - rails.length_mm / 2;
  layout.travel_rear_mm = rails.length_mm / 2 - std::max(rails.end_margin_mm, stops.rear_mm) - reach;
  layout.travel_available_mm = layout.travel_rear_mm - layout.travel_front_mm;
  layout.travel_needed_mm = rails.travel_mm;
  const Vec2 arm = bed_arms(kit, layout.assumptions);
  layout.rocking.after_um = kit.carriages.clearance_um * arm.y / kit.carriages.spacing_mm;
  layout.rocking.after_across_um = kit.carriages.clearance_um * arm.x / rails.pitch_mm;
  if (kit.before && kit.before->bearing_length_mm > 0)
    layout.rocking.before_um = kit.before->play_um * arm.y / kit.before->bearing_length_mm;
  settle_rail_holes(kit, layout);
  set_thicknesses(kit, layout);
  return layout;
}

}  // namespace bedwright
