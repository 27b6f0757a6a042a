// Whether a part's mark can be seen while the part is put on, reads the right way round, and points where it says.
// All from the mark's own outlines, not from what was asked for.
#pragma once

#include <optional>
#include <string>

#include "checks/wrong_ways.h"

namespace bedwright {

/// Each empty if all is well, else one clause.
/// What covers it, seen from straight above as the part lies, when it is put on: its own part, its screws' heads, and
/// the other plates. The frame comes later (steps).
std::string mark_hidden(const Kit& kit, const Layout& layout, const std::vector<const Part*>& parts, const Part& part);
std::string mark_mirrored(const Part& part);                     ///< which letter reads the wrong way round
std::string mark_false(const Layout& layout, const Part& part);  ///< at which placement the arrow misleads

/// Where the mark's arrow points, part frame, unit; nothing if it has none.
std::optional<Vec2> arrow_of(const Part& part);

}  // namespace bedwright
