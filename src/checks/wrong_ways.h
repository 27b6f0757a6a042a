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
  std::string blocked_by;       ///< carriage-holes, frame-holes, holes, boss, edge, screw; empty if it bolts up
  double seat_gap_mm = 0;       ///< largest over the seat; 0 if blocked
  Vec2 where;                   ///< of the largest gap, machine frame
  double height_change_mm = 0;  ///< of the sheet there against the other placements: positive is higher
  bool screws_hold = true;      ///< every screw keeps its least engagement and clamps

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
std::vector<WrongWay> wrong_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts);

}  // namespace bedwright
