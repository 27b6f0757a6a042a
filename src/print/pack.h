// Puts the set's copies onto as few print beds as it can, by their true outlines.
#pragma once

#include <string>
#include <vector>

#include "base/mesh.h"
#include "base/vec.h"

namespace bedwright {

/// One kind of thing to print. Print frame: centred on its own origin.
struct Printed {
  std::string part;
  int quantity = 1;
  Vec3 size_mm;                ///< its box
  const Mesh* mesh = nullptr;  ///< what its outline is taken from; without one, the box
  bool keep_turn = false;      ///< its undersides face the cooling air: turned only if it fits no other way
  int rank = 0;                ///< all of a lower rank lie on earlier beds
};

/// How the beds are to be filled.
enum class BedPlan {
  fewest,  ///< as few beds as can be found
  sets,    ///< each complete set on beds of its own
  kinds,   ///< one kind of part a bed
};

struct BedRules {
  Vec2 bed_mm{220, 220};
  double edge_mm = 5, gap_mm = 4;  ///< kept clear of the rim, and between parts; common practice, no source
  BedPlan plan = BedPlan::fewest;
  int sets = 1;  ///< each holds every thing's quantity
};

struct OnBed {
  std::string part;
  int copy = 1;      ///< from 1, over all beds
  Vec2 at;           ///< where its origin comes to lie, from the bed's front left corner
  int quarters = 0;  ///< turns of 90 degrees about Z
};

struct Bed {
  std::vector<OnBed> items;
  int rank = 0;  ///< of all that lies here
};

struct Packed {
  std::vector<Bed> beds;
  std::vector<std::string> too_large;  ///< fit no bed, either way round
};

/// Outlines are laid on a grid of 1 mm (coarser on beds over half a metre), every cell that an outline touches being
/// its own; parts keep gap_mm between their cells. Filled from the rear, in several orders and with exchanges where
/// fewer beds seem possible; the fewest beds win, then the layout with its tall parts farthest to the rear.
/// What fits the bed but not within its rim lies on a bed of its own, in the middle. Same input, same result.
Packed packed(const std::vector<Printed>& things, const BedRules& rules);

}  // namespace bedwright
