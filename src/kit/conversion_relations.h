// What the machine's base, the rails' ends and the bed's stand must agree on.
#pragma once

#include <vector>

#include "base/error.h"
#include "kit/view.h"

namespace bedwright {

void check_conversion(const View& view, std::vector<Problem>& problems);

}  // namespace bedwright
