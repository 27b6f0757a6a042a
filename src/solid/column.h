// What stands over one face of the plan: the stretches of material along Z.
#pragma once

#include <vector>

#include "base/feature.h"
#include "base/lattice.h"
#include "solid/plan.h"

namespace bedwright {

/// A height at which material begins or ends. Flat: z. Seat: the part's seat surface, above every flat level over the
/// same face. Bevel: goes at 45 degrees from z on the bevel's inner loop to z + bevel on the outline. Eased: below the
/// flat z, or the seat, by as much as the place is nearer to a chamfer's edge than the chamfer is wide.
struct Level {
  enum class Kind { flat, bevel, seat, eased } kind = Kind::flat;
  double z = 0;
  double bevel = 0;
  bool off_seat = false;  ///< eased only
  int feature = 0;        ///< which feature set it, for messages; eased: the chamfer
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
