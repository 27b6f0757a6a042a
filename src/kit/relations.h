// What values must agree on with each other: impossible machines are refused before any solid is built.
#pragma once

#include <string>
#include <vector>

#include "base/error.h"
#include "kit/beside.h"
#include "kit/kit.h"

namespace bedwright {

/// Adds a problem for each relation that does not hold. `document` has its defaults; values that already have a
/// problem are left alone, so that one slip is told once. `beside`: where named files must
/// lie.
void check_relations(const Json& document, const Beside& beside, std::vector<Problem>& problems);

}  // namespace bedwright
