// The frame's shape from a straightedge with feelers, or from a three-leg gauge: curvatures along directions. No
// heights, so no apex. Source of both formulas: sagitta of a circle and of a sphere, elementary geometry.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "survey/survey.h"

namespace bedwright {

/// Standard uncertainty of a length that bears, mm (a rule laid by eye; common practice, no source).
inline constexpr double length_uncertainty_mm = 0.5;
/// Of a dial or depth gauge's reading on three legs, mm (common practice, no source).
inline constexpr double dial_uncertainty_mm = 0.01;

struct StraightedgeReading {
  double length_mm = 0;
  double gap_mm = 0;  ///< negative: bows the other way there
  std::string along;  ///< "x", "y", "d1" (front left to rear right), "d2", or "" (not said)
};

struct ThreeLegReading {
  double circle_mm = 0;       ///< diameter of the circle through the three feet
  double reading_mm = 0;      ///< rise of the middle over the feet's plane; negative: it lies lower
  double foot_radius_mm = 0;  ///< of ball feet; 0: points
};

struct ReadingOptions {
  bool crown_up = true;              ///< what a positive gap or reading means in the machine
  double gap_u_mm = 0;               ///< 0: feeler_uncertainty_mm (kit/straightedge.h), dial_uncertainty_mm
  std::optional<Vec2> pattern_half;  ///< half the hole pattern's box: direction of the diagonals, place of the twist
};

/// R = r^2 / (2 s) + s / 2, less the ball feet's radius on a bulge, more in a hollow. Needs 0 < |s| < r.
double radius_from_three_legs(const ThreeLegReading& reading);

/// Throws BadInput: impossible readings (a gap of half the length, feet nearer than ...), each named by its number.
Survey survey_readings(const std::vector<StraightedgeReading>& edges, const std::vector<ThreeLegReading>& legs,
                       const ReadingOptions& options);

}  // namespace bedwright
