// What stands round the parts on the page: the machine as plain bodies, where each part stands in it, and the plans
// that are drawn of frame and seats. Machine frame, millimetres.
#pragma once

#include <vector>

#include "output/page.h"

namespace bedwright {

/// Base, rails, carriages, stops, sheet, bed: prisms along Z ("outline_mm", "z_mm") with "name", "kind" and "layer",
/// the order in which they come apart (0 lies lowest).
Json page_bodies(const Kit& kit, const Report& report);

/// Where a part's copies stand: [{"where", "layer", "matrix" part to machine}]; empty for what has no place.
Json page_places(const Kit& kit, const Report& report, const PartReport& part, const Mesh& in_part_frame);

/// The sheet's underside on a grid, with mounts and holes: {"x_mm", "y_mm", "z_mm" rows from the front, null where it
/// is not known}; "replaced" where a printed plate takes its place.
Json page_frame(const Kit& kit, const Report& report);

/// For each placement of a part that follows the frame: the gap between sheet and seat of the file, micrometres, on a
/// grid of squares in the machine frame; null where nothing must bear. A spacer stands raised until it touches.
Json page_gaps(const Report& report, const PartReport& part, const Mesh& in_part_frame);

}  // namespace bedwright
