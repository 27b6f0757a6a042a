// The screws that a part's features imply.
#pragma once

#include <optional>
#include <vector>

#include "joints/joints.h"
#include "kit/hardware.h"
#include "parts/part.h"

namespace bedwright {

/// One joint a screw hole of an adapter plate, counted once for each copy of the part: carriage screws from the head's
/// floor to the carriage, frame screws from the sheet's upper face to the insert. A support plate's carriage screws;
/// its mounts hold a bed whose thickness the kit does not say. An end bracket's (end_bracket.h). Other families: none.
std::vector<Joint> joints_of_part(const Kit& kit, const Part& part);

/// What is pressed into the part's pockets; nothing where it has none.
std::optional<InsertSize> insert_of_part(const Kit& kit, const Part& part);

}  // namespace bedwright
