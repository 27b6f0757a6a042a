// Whether points can be a frame in millimetres at all.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Sizes of the middle 90 % of the points that a frame may have, mm (common practice, no source).
inline constexpr double smallest_frame_mm = 40, largest_frame_mm = 2000;

/// Throws BadInput naming `source` if the points are far too small or too large: says which unit they look like, by the
/// hole pattern where there is one. `to_be_cut`: a region is still to be cut out, so they may be too large.
void require_plausible_size(const std::vector<Vec3>& points, std::optional<Vec2> pitch_mm, bool to_be_cut,
                            const std::string& source);

}  // namespace bedwright
