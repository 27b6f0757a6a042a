// The centre of a hole in a scan: a scan has the rim, not the centre, and a known length is best taken between centres.
#pragma once

#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

struct ScanHole {
  Vec3 centre{};  ///< z of the rim
  double diameter_mm = 0;
  std::size_t rim_points = 0;
};

/// How far the guess may be from the centre, and the largest hole radius looked for, mm.
inline constexpr double hole_reach_mm = 8;

/// The round patch without points that holds `near`, seen from above: nearest point in each of 48 directions, a
/// geometric circle through them, those off it left out. Throws BadInput naming `source`: a point lies at `near`, or no
/// rim goes round.
ScanHole find_hole(const std::vector<Vec3>& points, Vec2 near, const std::string& source);

}  // namespace bedwright
