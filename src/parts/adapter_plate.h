// Adapter plate: from a carriage's flat top to the frame's curved underside, with inserts for the frame screws.
#pragma once

#include <vector>

#include "layout/plate_settings.h"
#include "parts/part.h"
#include "parts/screw_pick.h"

namespace bedwright {

/// One plate a placement, unmarked and ungrouped. Part frame: machine axes, origin at the carriage's centre, z = 0
/// the carriage face. Throws CannotBuild: counterbore-too-deep, no-screw-length, insert-too-long, boss-too-thin,
/// boss-meets-carriage, top-too-low.
std::vector<Part> derive_adapter_plates(const Kit& kit, const Layout& layout, const PartRequest& request);

/// The settings that a derived plate was made with. Throws as plate_settings of its request does.
PlateSettings plate_settings(const Kit& kit, const Part& part);

/// Engraves id, revision, UP and an arrow into the plate's upper side, or states that there is no room.
void mark_adapter_plate(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part);

/// Height of the floor that the carriage screws' heads bear on, alike at all placements of all plates of one screw
/// (where these have one in common), and the screw that fits it.
ScrewPick head_floor(const Kit& kit, const Layout& layout, const PartRequest& request);

}  // namespace bedwright
