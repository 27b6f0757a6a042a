// What spacers and shims share.
#pragma once

#include "base/feature.h"
#include "parts/part.h"

namespace bedwright {

/// [x, y] of a kit file.
Vec2 plane_size(const Json& pair);

/// A part without features: id, family, chord, material and settings of the request; a flat seat at z = 0.
Part loose_part(const Kit& kit, const PartRequest& request);

/// A seat whose modelled height is that of `surface` over `made`, and whose nominal one is `nominal_mm`.
Feature seat_of_height(const Surface& surface, const Loop& made, double nominal_mm, double chord_mm);

}  // namespace bedwright
