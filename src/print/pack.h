// Puts the set's copies onto as few print beds as it can.
#pragma once

#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Clear of the bed's rim, and of each other. Common practice, no source.
inline constexpr double bed_edge_mm = 5, between_parts_mm = 4;

/// One kind of thing to print: the box of its footprint, centred on its own origin (print frame).
struct Printed {
  std::string part;
  int quantity = 1;
  Vec3 size_mm;
};

struct OnBed {
  std::string part;
  int copy = 1;          ///< from 1, over all beds
  Vec2 at;               ///< its box's centre, from the bed's front left corner
  bool quarter = false;  ///< turned by 90 degrees about Z
};

struct Bed {
  std::vector<OnBed> items;
};

struct Packed {
  std::vector<Bed> beds;
  std::vector<std::string> too_large;  ///< fit no bed, either way round
};

/// Boxes, the largest first, each where it leaves the narrowest strip (maximal rectangles, best short side); the set is
/// tried in a few orders and the one with the fewest beds wins, then the one that leaves its last bed emptiest.
/// What fits the bed but not within its rim lies on a bed of its own, in the middle.
/// Within a bed the whole layout is turned so that its tallest part stands to the rear. Same input, same result.
Packed packed(const std::vector<Printed>& things, Vec2 bed_mm);

}  // namespace bedwright
