// What rails, carriages, frame and printer must agree on.
#pragma once

#include <string>
#include <vector>

#include "kit/beside.h"
#include "kit/view.h"

namespace bedwright {

void check_machine(const View& view, const Beside& beside, std::vector<Problem>& problems);

/// The kit's carriage with its measured overrides, as far as it is sound.
std::optional<CarriageSize> carriage_of(const View& view);

}  // namespace bedwright
