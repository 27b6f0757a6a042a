// Makes features: the profile has the modelled size (nominal plus the printer's compensation), the dimensions say both.
// Part frame, millimetres. `z_open` is where the feature's axis leaves the material: the datum of a hole.
#pragma once

#include <string>
#include <vector>

#include "base/feature.h"
#include "kit/kit.h"
#include "survey/surface.h"

namespace bedwright {

// Allowed |measured - modelled| of a written file.
// A round's facets stray by chord_mm (default 0.01) on one side, so a fit through vertices reads up to two of them off;
// the largest pin that passes is within two lattice steps.
inline constexpr double diameter_tolerance_mm = 0.02;
// Positions come from all facets of a round, evenly spread: only lattice steps (1.5e-5) and the segmentation remain.
inline constexpr double position_tolerance_mm = 0.005;
// Flat levels lie on the lattice.
inline constexpr double height_tolerance_mm = 0.005;
// The lowest seat point is a vertex on an outline that lies inside the true one by chord_mm, on a slope below 1.
inline constexpr double thickness_tolerance_mm = 0.012;

/// Round hole through or to a level. Also a counterbore, which is a hole that ends on a floor.
Feature clearance_hole(const std::string& id, Vec2 at, double diameter_mm, Bound from, Bound to, double z_open,
                       const Compensation& compensation);
Feature counterbore(const std::string& id, Vec2 at, double diameter_mm, double floor_z, double z_open,
                    const Compensation& compensation);
/// Slots: overall length = diameter + extra along the unit direction; extra 0 gives the round form above.
Feature clearance_slot(const std::string& id, Vec2 at, double diameter_mm, double extra_mm, Vec2 along, Bound from,
                       Bound to, double z_open, const Compensation& compensation);
Feature counterbore_slot(const std::string& id, Vec2 at, double diameter_mm, double extra_mm, Vec2 along,
                         double floor_z, double z_open, const Compensation& compensation);
/// Opens downward at z_open, `depth` deep.
Feature insert_pocket(const std::string& id, Vec2 at, double diameter_mm, double z_open, double depth_mm,
                      const Compensation& compensation);
/// A hole along X or Y: round with a point, `up` (+1 or -1 in Z) as it will be printed, so that nothing bridges. `at`:
/// where the axis leaves the material; `axis`: out of the material there.
Feature teardrop_hole(const std::string& id, FeatureKind kind, Along along, Vec3 at, Vec3 axis, double diameter_mm,
                      Bound from, Bound to, double up, const Compensation& compensation);
/// Hanging from `to_z` down to to_z - height.
Feature boss_down(const std::string& id, Vec2 at, double diameter_mm, double to_z, double height_mm,
                  const Compensation& compensation);
/// Standing on a flat top, cut to the seat.
Feature boss_to_seat(const std::string& id, Vec2 at, double diameter_mm, double from_z, double z_seat,
                     const Compensation& compensation);
/// The body. Both loops in the part frame; `nominal` as drawn, `modelled` with compensation.
Feature outline(const Loop& nominal, const Loop& modelled, Bound from, Bound to, double chamfer_mm, double chord_mm);
/// What the seat must measure: thickness (least z over the loops; nominal and modelled), and the surface's radii and
/// apex where it has them; of a measured surface the largest `deviation` of the seat's facets from it, which may be
/// chord_mm. `seats` are modelled loops.
Feature seat(const Surface& surface, const std::vector<Loop>& nominal, const std::vector<Loop>& seats, double chord_mm);

/// Least and greatest height of the surface over the loops, to 1e-9 mm. Exact for a surface without added slope;
/// with one (tapered parts, always on a plane) at the edge, sampled to 1e-3 of an arc's radius.
struct HeightRange {
  double least = 0, greatest = 0;
};
HeightRange heights_over(const Surface& surface, const std::vector<Loop>& loops);

/// Seen from above: a hole along Z of one loop, whatever goes through or into it. What crosses has its walls elsewhere.
bool is_upright_hole(const Feature& feature);

/// Dimension with nominal = modelled.
Dimension dimension(const char* quantity, double value, double tolerance);
Dimension dimension(const char* quantity, double nominal, double modelled, double tolerance);

}  // namespace bedwright
