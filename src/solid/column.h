// What stands over one face of the plan: the stretches of material along Z.
#pragma once

#include <vector>

#include "base/feature.h"
#include "base/lattice.h"
#include "solid/plan.h"

namespace bedwright {

/// A height at which material begins or ends. Flat: z. Seat: the part's seat surface, above every flat level over the
/// same face. Bevel: rises at 45 degrees from z on the bevel's inner loop to z + bevel on the outline.
struct Level {
  enum class Kind { flat, bevel, seat } kind = Kind::flat;
  double z = 0;
  double bevel = 0;
  int feature = 0;  ///< which feature set it, for messages

  bool same_as(const Level& o) const { return kind == o.kind && (kind == Kind::seat || z == o.z); }
};

struct Stretch {
  Level low, high;
};
using Column = std::vector<Stretch>;  ///< ascending, disjoint

/// Applies, in order, the features that cover the face. `bevelled` says that the face lies between an outline and its
/// bevel's inner loop. Throws CannotBuild where an end stays open or a flat level meets the seat's order wrongly.
Column column_of(const std::vector<Feature>& features, const std::vector<int>& covering, bool bevelled,
                 Lattice lattice);

}  // namespace bedwright
