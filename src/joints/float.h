// How far holes may be out of position and a screw still pass: the fixed and floating fastener formulas of
// geometrical tolerancing. Diameters mm; a result is the diameter of a position zone (ISO 1101).
#pragma once

namespace bedwright {

/// Both parts have clearance holes: T = H - F. Negative: the screw does not pass.
double floating_zone_mm(double hole_mm, double fastener_mm);
/// One part holds the screw (thread, insert, pin), so both share the play: T = (H - F) / 2.
double fixed_zone_mm(double hole_mm, double fastener_mm);

}  // namespace bedwright
