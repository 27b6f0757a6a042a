// What a part family is to the rest: a name and one function. The list of families is parts/families.cpp.
#pragma once

#include <string>
#include <vector>

#include "parts/part.h"

namespace bedwright {

struct Family {
  const char* name;
  /// The parts as they would be at each placement (one entry a placement, unmarked and ungrouped), or a single entry
  /// without placements for loose parts.
  std::vector<Part> (*derive)(const Kit& kit, const Layout& layout, const PartRequest& request);
  /// Adds the mark once it is known which placements the part serves; may be nullptr.
  void (*mark)(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part);
};

const std::vector<Family>& families();

}  // namespace bedwright
