// Shim: a calibrated thin layer, parallel or tapered, with its thickness for the finger (notches) and the eye (text).
#pragma once

#include <utility>
#include <vector>

#include "parts/part.h"

namespace bedwright {

/// Most notches that a finger still counts; common practice, no source.
inline constexpr int most_notches = 8;

/// Thicknesses of whole layers next below and above (equal where it is one already), and the layers of the lower.
struct WholeLayers {
  double below_mm = 0, above_mm = 0;
  int layers_below = 0;
};
WholeLayers nearest_whole_layers(double thickness_mm, const PrinterProfile& printer);

/// Part frame: origin at the centre of the lower face. thickness_mm is at the centre of a tapered shim. The printer's height
/// compensation is in the modelled heights. Throws CannotBuild: shim-too-thin (a tapered one runs out to less than a
/// first layer).
std::vector<Part> derive_shims(const Kit& kit, const Layout& layout, const PartRequest& request);

/// Engraves the thickness (of a tapered shim at its screw), the label's words, and on a tapered shim that has places an
/// arrow, where there is room and the shim has two layers or more.
void mark_shim(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part);

}  // namespace bedwright
