// The gap between the frame and the seat of a written file: facets of the measured mesh, laid where the part belongs,
// against the frame's own surface. Knows nothing of how the seat was made; the drawing only says which stretch of the
// plan must bear. Machine frame, millimetres. Within a sixteenth of a chord of the true extreme between vertices.
#pragma once

#include <string>
#include <vector>

#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

struct KnownPart;

struct SeatGap {
  std::string part, placement;
  double least_mm = 0, greatest_mm = 0;  ///< positive: air; negative: the file stands into the sheet
  Vec2 least_at, greatest_at;            ///< machine frame
  double bears_mm2 = 0;                  ///< in plan; 0: nothing of the file lies where the sheet must bear
};

/// What a modelled seat may be off, and what it must not.
inline constexpr double seat_gap_limit_mm = 0.02;

/// One a placement, for every part whose top follows the frame, in the order of parts and placements. Plates stand on
/// the carriages; a spacer, whose height is its own affair, is raised until it touches.
std::vector<SeatGap> seat_gaps(const Layout& layout, const std::vector<KnownPart>& parts);

/// Where the sheet must bear on a part (part frame): within its seat, and not where something opens. The part outlives it.
class BearingArea {
 public:
  explicit BearingArea(const Part& part);
  bool has(Vec2 p) const;

 private:
  std::vector<FeatureReach> seats_, openings_;
};

}  // namespace bedwright
