// Support plate: a light printed plate in place of the domed sheet. It lies flat on the four carriages, with ribs,
// windows between them, and standoffs for the bed mounts.
#pragma once

#include <vector>

#include "parts/part.h"

namespace bedwright {

/// Everything but the standoffs' inserts builds upward from a flat lower face, so that it prints without support.
/// Part frame: the machine frame (origin at the centre of the four carriages, z = 0 their tops), placed nowhere in
/// particular: it serves all four carriages at once. Heights of all standoffs are one number.
/// Ribs keep clear of the carriage screws' heads; windows of carriages, standoffs and pads.
/// Throws CannotBuild: support-plate-no-mounts, no-screw-length, insert-too-long, standoff-low.
std::vector<Part> derive_support_plate(const Kit& kit, const Layout& layout, const PartRequest& request);

/// Id, revision, UP and an arrow to the front, on the sheet or a rib's top where there is room.
void mark_support_plate(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part);

}  // namespace bedwright
