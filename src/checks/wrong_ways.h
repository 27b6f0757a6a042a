// Every way in which a person could offer up a part other than the right one: turned, turned over, or another part of
// its family in its place; whether it bolts up, and what follows if it does (design: section 5).
// The part is held level on its carriage; the sheet, kept level too, comes down along Z to first contact, screw heads
// included. Gap and height are stated with the holes centred; play within the holes changes them by at most the frame's
// slope times the float. Heights within 2e-3 mm.
#pragma once

#include <string>
#include <vector>

#include "base/vec.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

struct WrongWay {
  std::string part;  ///< whose place it is
  std::string placement;
  double turn_deg = 0;   ///< about +Z from the right way; of another part, from how it lies at its own first placement
  bool flipped = false;  ///< turned over left to right, before the turn
  std::string as;        ///< the part that is offered in its place; empty: itself
  bool bolts_up = false;
  std::string consequence;      ///< one sentence
  std::string blocked_by;       ///< carriage-holes, frame-holes, holes, boss, edge, key, screw; empty if it bolts up
  double seat_gap_mm = 0;       ///< largest over the seat; 0 if blocked
  Vec2 where;                   ///< of the largest gap, machine frame
  double height_change_mm = 0;  ///< of the sheet there against the other placements: positive is higher
  bool screws_hold = true;      ///< every screw keeps its least engagement and clamps
  double tilt_deg = 0;          ///< turned over, how far from level it comes to rest; of a wedge, between the faces
  std::string revision;         ///< of the kit that the offered part is from; empty: this one

  const std::string& offered() const { return as.empty() ? part : as; }
  /// What matters of it: the gap, or the step between this placement and the others.
  double worst_mm() const;
};

/// Below this a way makes no difference: what a modelled seat may be off anyway.
inline constexpr double harmless_mm = 0.02;
/// Above this an unmarked wrong way is an error (design: section 6).
inline constexpr double harmful_mm = 0.2;
inline bool matters(const WrongWay& way) {
  return way.bolts_up && (way.worst_mm() > harmless_mm || !way.screws_hold);
}

/// Those that bolt up first, worst first; then the blocked ones with their reason, in placement order. A way that lays
/// down the same solid as the right one, within 0.001 mm, is not listed.
/// Angles: every quarter, and of parts with a hole pattern each other angle that brings all holes onto screws. Shims
/// and spacers whose faces are not parallel are wedges between two planes: turned or turned over, their faces part.
std::vector<WrongWay> wrong_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts);

/// How many of them matter, counted until more than `enough` are found; `concerns` (part ids) limits it to ways that
/// put one of these in the wrong place or something wrong in one's place.
int open_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
              const std::vector<std::string>& concerns, int enough);

/// Parts of the same set from another kit (an earlier revision), offered in this one's places, the right way round too.
struct OldSet {
  std::string revision;
  std::vector<Part> parts;
};
std::vector<WrongWay> old_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts, const OldSet& old);

/// Where a key is in the way of its own part, lying as it should: one clause each; empty if nowhere.
std::vector<std::string> right_ways_blocked(const Kit& kit, const Layout& layout, const std::vector<Part>& parts);

}  // namespace bedwright
