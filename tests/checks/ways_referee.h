// A second opinion on wrong ways, by brute force: the part is a heap of vertical columns, sampled densely and refined
// by bisection wherever something begins or ends; every transform is tried on the columns. Shares no code with the
// check.
#pragma once

#include <string>
#include <vector>

#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

struct RefereeWay {
  std::string part, placement, as;
  int turn = 0;  ///< quarters
  bool flipped = false;
  bool same = false;  ///< the same solid as the right way
  bool bolts_up = false;
  bool undecided = false;  ///< nearer to a limit than the sampling can tell
  double gap_mm = 0, height_change_mm = 0;
};

/// Flat, spherical and cylindrical frames; adapter plates; no printer's compensation.
std::vector<RefereeWay> referee_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts);

/// How far the faces of a wedge stand apart from the planes it belongs between, put in over and turned: its thickness
/// column by column against what belongs there, greatest less least.
double referee_wedge_gap(const Part& part, bool over, int turn);

}  // namespace bedwright
