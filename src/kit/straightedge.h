// The dome from what a straightedge and a feeler gauge say. One formula serves both faces: resting on its two ends with
// the gap in the middle, or balanced on the crown with the same gap at both ends.
#pragma once

#include <string>
#include <vector>

namespace bedwright {

/// Standard uncertainty of a gap taken with feeler leaves in steps of 0.05 mm (common practice, no source).
inline constexpr double feeler_uncertainty_mm = 0.03;

/// R = c^2 / (8 s) + s / 2 for a chord c and its sagitta s; needs 0 < gap < length / 2. Exact for a circle.
double radius_from_straightedge(double length_mm, double gap_mm);

struct StraightedgeReadings {
  double length_x_mm = 0, gap_x_mm = 0;  ///< laid along X; gap 0: no feeler goes under
  double length_y_mm = 0, gap_y_mm = 0;
  double length_diagonal_mm = 0;
  double gap_d1_mm = 0;  ///< front left to rear right
  double gap_d2_mm = 0;  ///< front right to rear left
};

struct StraightedgeDome {
  std::string shape;                        ///< flat, sphere, cylinder, two_radius
  double radius_mm = 0;                     ///< sphere, cylinder; to 1 mm
  double radius_x_mm = 0, radius_y_mm = 0;  ///< two_radius; to 1 mm
  std::string axis;                         ///< cylinder: where the straightedge touches all along, "x" or "y"
  bool saddle = false;                      ///< the diagonals differ by more than the feeler explains
  std::string words;                        ///< one sentence on what was found
  std::string warning;                      ///< one or two sentences; empty if all is well
};

/// Two directions count as alike when their curvatures differ by less than twice the standard uncertainty of the
/// difference.
StraightedgeDome dome_from_straightedge(const StraightedgeReadings& readings);

}  // namespace bedwright
