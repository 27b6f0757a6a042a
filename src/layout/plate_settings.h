// An adapter plate's settings as plain values, with the hardware they name looked up.
// The reader has checked them; what is missing here is completed with the default that the schema states.
#pragma once

#include <string>
#include <vector>

#include "kit/hardware.h"
#include "kit/kit.h"

namespace bedwright {

struct PlateSettings {
  double thickness_mm = 6;
  bool boss_up = false;
  double boss_diameter_mm = 0, boss_height_mm = 0;
  bool pads = false;
  double pad_diameter_mm = 0, pad_height_mm = 1;
  std::string carriage_screw, frame_screw;
  double carriage_hole_mm = 0;  ///< clearance hole for the carriage screw, by the fit asked for
  double frame_hole_mm = 0;     ///< clearance hole for the frame screw, medium
  double counterbore_mm = 0, head_height_mm = 0;
  InsertSize insert;
  double slot_mm = 0;
  bool slot_along_y = false;
  /// Placements with slots; empty: all. Where the kit lists none and names a reference rail, those on the other rail.
  std::vector<std::string> slot_at;
  double margin_mm = 4, corner_radius_mm = 5, chamfer_mm = 0.4;
  double head_cover_mm = 0.3;  ///< least depth of a head below the seat
  bool mark = true;
};

/// Throws BadInput for a screw, fit or insert that no table holds.
PlateSettings plate_settings(const Kit& kit, const PartRequest& request);

/// Extra length of the carriage holes at a placement: slot_mm, or 0 where slot_at leaves it out.
double slot_extra_mm(const PlateSettings& settings, const std::string& placement);

/// Where the plate's top is flat, its height: bosses up and pads stand on it; a full seat has none.
bool has_flat_top(const PlateSettings& settings);
double flat_top_mm(const PlateSettings& settings);

/// Which placements a request is for: its own, or all four.
std::vector<std::string> placements_of(const PartRequest& request);

}  // namespace bedwright
