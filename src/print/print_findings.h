// What the chosen pose means for the print, said so that it can be acted on.
#pragma once

#include <vector>

#include "base/finding.h"
#include "kit/kit.h"
#include "layout/layout.h"
#include "print/pose.h"

namespace bedwright {

/// Of one part: staircase, tall-thin, mark-fine, pose-costly. `solid` in the part frame.
std::vector<Finding> print_findings(const Kit& kit, const Layout& layout, const Part& part, const Mesh& solid,
                                    const Pose& pose);

}  // namespace bedwright
