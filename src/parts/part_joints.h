// The screws that a part's features imply.
#pragma once

#include <vector>

#include "joints/joints.h"
#include "parts/part.h"

namespace bedwright {

/// One joint a screw hole of an adapter plate, counted once for each copy of the part: carriage screws from the head's
/// floor to the carriage, frame screws from the sheet's upper face to the insert. A support plate's carriage screws;
/// its mounts hold a bed whose thickness the kit does not say. Other families: none.
std::vector<Joint> joints_of_part(const Kit& kit, const Part& part);

}  // namespace bedwright
