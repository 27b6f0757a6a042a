// Gauges and helpers made from the same kit, so that they cannot disagree with the parts: one file each.
// Part frame of all of them: as it lies on the bench, origin at the middle of the lower face. Loose parts: no
// placements.
#pragma once

#include <vector>

#include "parts/part.h"

namespace bedwright {

/// Flat bar over both rails' carriages, with both screw patterns at the rail pitch: sets the second rail.
std::vector<Part> derive_bridge_bar(const Kit& kit, const Layout& layout, const PartRequest& request);
/// Straddles both rails with two openings at the rail pitch. Part frame: X across the rails, openings to -Y.
std::vector<Part> derive_rail_gauge(const Kit& kit, const Layout& layout, const PartRequest& request);
/// An edge curved as the sheet's underside is along a line through the frame's middle, to hold under it. +Y is up.
/// Throws CannotBuild dome-template-short where the line runs off the surface.
std::vector<Part> derive_dome_template(const Kit& kit, const Layout& layout, const PartRequest& request);
/// Holes, insert pockets, slot, bosses and heights in a ladder about what the kit's parts use, and two spacings.
std::vector<Part> derive_fit_coupon(const Kit& kit, const Layout& layout, const PartRequest& request);
/// Stepped pin: the tip must enter a screw's hole, the shoulder must not.
std::vector<Part> derive_hole_plug(const Kit& kit, const Layout& layout, const PartRequest& request);
/// A tower for each length: the screw's tip is flush with the underside of the tower that has its length.
std::vector<Part> derive_screw_gauge(const Kit& kit, const Layout& layout, const PartRequest& request);
/// Frame holes or bed mounts as pilot holes in a thin plate, with bars of 100 and 50 mm to check the print by.
std::vector<Part> derive_drill_template(const Kit& kit, const Layout& layout, const PartRequest& request);
/// A hollow square to print at the middle, the front and the rear of the bed, before and after the conversion.
std::vector<Part> derive_proof_piece(const Kit& kit, const Layout& layout, const PartRequest& request);

/// Id and revision, and what the gauge is set to (its first statement's number) where there is room.
void mark_workshop_gauge(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part);

}  // namespace bedwright
