// Spacer: sets a height. Round or rectangular, flat on both sides or with an upper face that follows the frame.
#pragma once

#include <vector>

#include "parts/part.h"

namespace bedwright {

/// Part frame: origin at the centre of the lower face, machine axes. Flat: one loose part. `seat: frame`: one a placement,
/// its upper face the sheet's underside as it is above that carriage's centre, lowered until its least height over the
/// outline is thickness_mm. The printer's height compensation is in the modelled heights.
std::vector<Part> derive_spacers(const Kit& kit, const Layout& layout, const PartRequest& request);

/// Engraves id and revision where there is room.
void mark_spacer(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part);

}  // namespace bedwright
