// Extremes of a measured surface over areas. Private to the layout.
#pragma once

#include <vector>

#include "layout/layout.h"

namespace bedwright {

/// No point of the areas has a sag outside the range by more than this, and both ends of the range are taken somewhere
/// within the areas or as near to them as changes the sag by no more.
inline constexpr double measured_sag_tolerance_mm = 1e-5;

/// Branch and bound with the surface's curvature bound: cells of the inside that can hold no stationary point, and
/// pieces of the edge that cannot beat what is known, are dropped.
SagRange measured_sag_over(const Surface& surface, const std::vector<Loop>& loops);

}  // namespace bedwright
