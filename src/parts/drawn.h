// All that a part is drawn with, to the last bit: what its solid and its pose follow from.
#pragma once

#include <string>

#include "parts/part.h"

namespace bedwright {

/// Unlike shape_digest, marks and settings count and nothing is rounded: parts with one text are made alike, byte by
/// byte. Left out is what says where a part goes and how many there are.
std::string drawn_text(const Part& part);

}  // namespace bedwright
