// Which of the bought carriages goes to which corner, when each has been measured by itself.
// Source of the limits: guideway makers' manuals, sizes 7 to 15, excerpts: height error between the two rails
// E1 = V * rail pitch, V 0.00025 (zero preload) or 0.00015 (light); between two carriages on one rail E2 = V * spacing,
// V 0.00005 (standard body) or 0.00004 (long). They name none for carriages with play: zero preload's is taken.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "kit/kit.h"

namespace bedwright {

struct GuidewayLimits {
  double across_mm = 0;  ///< E1: left against right
  double along_mm = 0;   ///< E2: front against rear, on one rail
};
GuidewayLimits guideway_limits(const Kit& kit);

/// Two neighbouring corners.
struct HeightStep {
  int a = 0, b = 0;  ///< placements, by index
  double mm = 0;     ///< height at a less height at b, without shims
  double limit_mm = 0;
  double used_percent() const { return 100 * (mm < 0 ? -mm : mm) / limit_mm; }
};

struct CarriagePairing {
  std::array<std::size_t, 4> carriage{};         ///< index of the measured carriage, by placement
  std::array<double, 4> height_mm{}, shim_mm{};  ///< shim: what is missing to the highest of the four
  std::array<HeightStep, 4> steps{};             ///< front, rear (across), left, right (along)
  double worst_percent = 0;
  int orders = 0;                  ///< how many were possible, each tried
  std::vector<std::size_t> spare;  ///< carriages left over
};

/// The order of least worst_percent; then of the least sum of squares of the four; then the one that keeps the list's
/// order best. A carriage that names a rail stays on it. Nothing where no order is possible or fewer than four are
/// given.
std::optional<CarriagePairing> pair_carriages(const std::vector<MeasuredCarriage>& measured,
                                              const GuidewayLimits& limits);

}  // namespace bedwright
