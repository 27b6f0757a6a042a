// The machine from above and from the side, to scale: rails, carriages, plates, frame holes, bed, base and keep-outs.
#pragma once

#include <string>

#include "kit/kit.h"
#include "layout/layout.h"
#include "layout/rail_line.h"

namespace bedwright {

/// SVG on a sheet of A4 on its side, user units millimetres of paper; the scale is the largest of 1:1, 1:2, 1:2.5, 1:4,
/// 1:5, 1:10, 1:20 that fits and stands on the sheet with a bar of 100 mm. Grey and black only. Above: the front is
/// below. Side: seen from the right, the front on the left; the bed in the middle, and in outline at both ends of its
/// travel.
std::string layout_drawing_svg(const Kit& kit, const Layout& layout, const std::vector<RailLine>& rails);

}  // namespace bedwright
