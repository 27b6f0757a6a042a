// Whether every screw of a part put on the right way passes its hole, and how much play is left: holes as measured in
// the written file, screws where the carriages' threads and the frame's holes are. Millimetres.
// Fixed fastener (one part holds the screw): zone (H - F) / 2; floating (clearance holes in both): H - F.
#pragma once

#include <string>
#include <vector>

#include "joints/joints.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

struct KnownPart;

struct HoleFloat {
  std::string joint, part, placement;  ///< placement: the worst of the part's
  bool fixed = true;
  double hole_mm = 0;   ///< as it prints: measured, less the printer's compensation
  double screw_mm = 0;  ///< nominal
  double zone_mm = 0;   ///< diameter of the position zone that the formula gives
  double extra_mm = 0;  ///< a slot's length beyond its width
  double used_mm = 0;   ///< how far the screw stands from the hole's axis (a slot's: beyond its extra length)
  double left_mm = 0;   ///< radial play that remains; below 0: the screw does not pass
};

/// One for each screw of an adapter plate, the plate shifted and turned as suits all of them best, and one for each
/// joint of the kit that tells its hole (nothing used there).
std::vector<HoleFloat> hole_floats(const Kit& kit, const Layout& layout, const std::vector<KnownPart>& parts,
                                   const std::vector<JointSolution>& joints);

}  // namespace bedwright
