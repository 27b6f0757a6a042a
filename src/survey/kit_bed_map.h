// The bed maps that a kit names, read by the convention that it states.
#pragma once

#include <optional>

#include "kit/kit.h"
#include "survey/bed_map.h"

namespace bedwright {

/// bed_map's positive_is, turned_deg, mirrored and centre_mm; `bed_map` is the kit's checked block.
MapConvention convention_of(const Json& bed_map);

/// All maps of bed_map.files as repeats of one, map frame; nothing where the kit names none. Throws BadInput naming the
/// file and its line where one cannot be read, or where their points differ.
std::optional<BedMap> bed_map_of(const Kit& kit);

/// Throws what bed_map_of throws, and BadInput where the kit names maps but has nothing that shims could go under.
void require_bed_map(const Kit& kit);

}  // namespace bedwright
