#include "parts/adapter_plate.h"
#include "parts/end_bracket.h"
#include "parts/family.h"
#include "parts/shim.h"
#include "parts/spacer.h"
#include "parts/support_plate.h"
#include "parts/workshop_gauges.h"

namespace bedwright {

const std::vector<Family>& families() {
  static const std::vector<Family> list = {
      {"adapter_plate", derive_adapter_plates, mark_adapter_plate},
      {"spacer", derive_spacers, mark_spacer},
      {"shim", derive_shims, mark_shim},
      {"support_plate", derive_support_plate, mark_support_plate},
      {"end_bracket", derive_end_bracket, mark_end_bracket},
      {"bridge_bar", derive_bridge_bar, mark_workshop_gauge},
      {"rail_gauge", derive_rail_gauge, mark_workshop_gauge},
      {"dome_template", derive_dome_template, mark_workshop_gauge},
      {"fit_coupon", derive_fit_coupon, mark_workshop_gauge},
      {"hole_plug", derive_hole_plug, nullptr},
      {"screw_gauge", derive_screw_gauge, mark_workshop_gauge},
      {"drill_template", derive_drill_template, mark_workshop_gauge},
      {"proof_piece", derive_proof_piece, mark_workshop_gauge},
  };
  return list;
}

}  // namespace bedwright
