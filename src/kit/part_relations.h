// What a part's own values must agree on, with each other and with the machine.
#pragma once

#include <vector>

#include "kit/view.h"

namespace bedwright {

void check_parts(const View& view, std::vector<Problem>& problems);

}  // namespace bedwright
