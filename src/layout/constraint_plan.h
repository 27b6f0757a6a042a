// Which joints place the bed and which let it float, and what adjustment each slot keeps.
// A named reference rail is straight and places the frame across: its plates have round holes; the plates on the other
// rail float across it. Millimetres; "left": what remains to either side of the middle after the tolerances.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kit/kit.h"
#include "layout/layout.h"
#include "layout/plate_settings.h"

namespace bedwright {

struct PlateRole {
  std::string part;  ///< id of the request
  std::string placement;
  bool places = false;         ///< round holes on the reference rail
  double extra_mm = 0;         ///< slot beyond its width
  bool along_y = false;
  double across_left_mm = 0;   ///< X: play + slot, less pattern tolerance
  double along_left_mm = 0;    ///< Y
  double frame_left_mm = 0;    ///< at the frame's screws, any direction
};

struct MountRole {
  std::string id;
  Vec2 at;
  bool fixed = false;
  Vec2 growth_mm{};                  ///< of the bed against the frame there, away from the fixed mount
  std::optional<double> room_mm;     ///< to every side in the frame's hole; empty: no mount screw named
  double slot_mm = 0;                ///< overall length of a slot along the growth that lets it pass; 0: round hole does
};

struct PadStep {
  int a = 0, b = 0;  ///< placements
  double mm = 0, limit_mm = 0;
  double used_percent() const { return 100 * (mm < 0 ? -mm : mm) / limit_mm; }
};

struct ConstraintPlan {
  std::optional<std::string> reference;  ///< left, right; empty: every plate alike
  std::vector<PlateRole> plates;
  std::vector<MountRole> mounts;
  std::optional<std::string> fixed_mount;
  double across_growth_mm = 0;  ///< of frame against base between the rails, hot
  std::vector<PadStep> pads;    ///< with measured pad heights: front, rear (across), left, right (along)
  std::array<double, 4> pad_shim_mm{};
};

/// Which placements a rail carries.
bool on_reference(const Kit& kit, const std::string& placement);

ConstraintPlan constraint_plan(const Kit& kit, const Layout& layout);

}  // namespace bedwright
