// The demo machine as plain values, so that these tests need no file and no reader. All invented.
#pragma once

#include "kit/kit.h"

namespace bedwright {

std::vector<FrameHole> rectangular_holes(Vec2 pitch, Vec2 centre, double diameter);
PartRequest plate_request(const std::string& id = "adapter");

/// 12 mm rails, centred dome of 2600 mm, crown up: the values of the demo kit.
Kit bench_kit();

}  // namespace bedwright
