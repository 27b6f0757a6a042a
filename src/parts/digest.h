// A part's intent as a digest: two parts with one digest are the same solid.
#pragma once

#include <string>

#include "parts/part.h"

namespace bedwright {

/// SHA-256 of the features (profile, effect, ends), the seat's surface, chord and material. Lengths to 1e-6 mm, so that
/// rounding elsewhere is no change. Marks are left out: a letter of the revision is no reason to print again.
std::string shape_digest(const Part& part);

}  // namespace bedwright
