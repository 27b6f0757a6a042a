// The bed map before and after, as a plan seen from above.
#pragma once

#include <string>

#include "output/level_report.h"

namespace bedwright {

/// SVG, user units millimetres on an A4 sheet on its side: two plans with contour lines, heights at points, mounts with
/// their shims, FRONT below; one scale and one interval for both. Grey and black only: low is darker. Heights are
/// counted from each map's mean.
std::string level_picture_svg(const LevelReport& report);

}  // namespace bedwright
