// Whether anything stands in anything else while the bed moves over its whole travel: plates as their written files
// measure, screws as picked, carriages, sheet, rails, base and the kit's keep-outs. Machine frame at mid travel, mm.
// Carriages, rails and keep-outs are boxes; the bed moves along Y, so a box that stays is seen from the bed as the same
// box drawn long by the travel: exact, no steps. Parts whose place the kit does not tell are not in it.
#pragma once

#include <string>
#include <vector>

#include "joints/joints.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

struct KnownPart;

struct Interference {
  std::string first, second;  ///< "adapter-a at front-left", "keep-out belt"
  std::string part;           ///< the part whose file it concerns, or empty
  Vec3 at{};                  ///< middle of what they share; of what moves, at mid travel
  double depth_mm = 0;        ///< the shortest way apart along an axis
  char axis = 'z';            ///< that axis
  bool moving = false;        ///< whether it depends on where the bed is
  double from_mm = 0, to_mm = 0;  ///< bed positions along Y at which they meet
};

/// Deeper than `chord_mm` only: facets may stray that far, so less is contact. Worst first.
std::vector<Interference> interferences(const Kit& kit, const Layout& layout, const std::vector<KnownPart>& parts,
                                        const std::vector<JointSolution>& joints);

}  // namespace bedwright
