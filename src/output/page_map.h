// The bed's own map on the page: measured and foretold, shims, and what a wrong reading would cost.
#pragma once

#include "layout/layout.h"

namespace bedwright {

/// null where the kit names no map. Else level's document, and `bed_mm`, `files`, `grid` (places in the machine frame,
/// heights in micrometres from each map's mean, rows from front to rear) and `other_readings`, the worst first.
Json page_bed_map(const Kit& kit, const Layout& layout);

}  // namespace bedwright
