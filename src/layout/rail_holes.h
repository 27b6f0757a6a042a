// Where a rail's screw holes are, told from its length.
// Source: n = floor((L - 2 E) / P) + 1, first hole (L - (n - 1) P) / 2 (dimension libraries of profile rails).
#pragma once

#include <vector>

namespace bedwright {

struct RailHoles {
  int count = 0;
  double first_mm = 0;  ///< from either end
};

/// Of a rail cut evenly at both ends with the first hole at least `least_mm` from the end; count 0 where none is left.
RailHoles rail_holes(double length_mm, double pitch_mm, double least_mm);

/// Every way a rail of that length may have been cut, as makers' least end distances go from `nearest_mm` (what the
/// counterbore leaves) to `usual_mm`; most holes first. More than one: the length does not tell, measure.
std::vector<RailHoles> possible_rail_holes(double length_mm, double pitch_mm, double nearest_mm, double usual_mm);

}  // namespace bedwright
