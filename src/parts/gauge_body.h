// What the workshop gauges share.
#pragma once

#include "parts/part.h"

namespace bedwright {

/// A loose part with a flat body of that outline from z = 0 up, its first feature.
/// `drawn` as nominal, `made` with the printer's outline compensation. A sharp lower edge is for gauges whose outline
/// is what measures.
enum class LowerEdge { chamfered, sharp };
Part flat_body(const Kit& kit, const PartRequest& request, const Loop& drawn, const Loop& made, double thickness_mm,
               LowerEdge edge = LowerEdge::chamfered);
/// The same with a rounded rectangle about the origin.
Part flat_bar(const Kit& kit, const PartRequest& request, Vec2 size_mm, double thickness_mm,
              LowerEdge edge = LowerEdge::chamfered);

}  // namespace bedwright
