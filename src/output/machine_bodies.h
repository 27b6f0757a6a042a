// The machine as the preview shows it: base, rails, carriages, and the parts in their places. The frame and the bed, which
// would hide them, are left away, and so is what stands on the frame.
#pragma once

#include <vector>

#include "output/page.h"
#include "output/preview.h"

namespace bedwright {

/// `in_part_frame`: the parts' meshes, in the report's order. Empty where no part has a place in the machine.
std::vector<PreviewBody> machine_bodies(const Kit& kit, const Report& report, const std::vector<Mesh>& in_part_frame);

}  // namespace bedwright
