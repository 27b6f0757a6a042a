// "spacing_mm": "widest".
#pragma once

#include <vector>

#include "base/error.h"
#include "kit/kit.h"

namespace bedwright {

/// The widest carriage spacing that leaves the travel and both end margins: length - travel - margins - one body.
/// Stops that reach further in than the margin count instead of it. Units mm.
double widest_spacing_mm(double rail_length_mm, double travel_mm, double front_mm, double rear_mm, double body_mm);

/// Puts that number in place of "widest" and states it; a problem where the rails leave no room for two carriages.
/// Of carriages measured one by one the two longest count, so that it holds in whatever order they are fitted.
/// False where the spacing is a number, or what it needs is not sound.
bool settle_widest(Json& document, std::vector<Problem>& problems, std::vector<Note>& assumed);

}  // namespace bedwright
