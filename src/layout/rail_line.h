// One rail as it lies on the machine: which of its screws have something to hold in, and where nothing backs it.
// Machine frame, millimetres.
#pragma once

#include <string>
#include <vector>

#include "layout/base_profile.h"
#include "layout/layout.h"

namespace bedwright {

/// Material that a screw's hole needs round it in the base (common practice, no source): as much as its diameter, from
/// the middle.
inline constexpr double base_wall_of_diameter = 1.0;

struct RailScrew {
  int n = 0;  ///< from the front, 1 first
  double y_mm = 0;
  bool usable = true;
  std::string why;  ///< what it misses or hits; where it holds if that is a pad
};

/// A stretch of rail with nothing under it, and what bounds it.
struct RailGap {
  double from_mm = 0, to_mm = 0;
  bool overhang = false;  ///< it reaches the rail's end: a cantilever
};

struct RailLine {
  std::string side;  ///< left, right
  double x_mm = 0;
  bool base_known = false;  ///< without a base profile and pads the rail counts as backed all along
  std::vector<RailPad> pads;  ///< the kit's, and those of its end brackets under this rail
  std::vector<RailScrew> screws;
  std::vector<Span> backed;  ///< by base or pads, within the rail
  std::vector<RailGap> gaps;
  int usable() const;
};

/// Left, then right. `tip_below_mm`: how far the picked screws' tips reach below the rail's foot; 0: no pick.
std::vector<RailLine> rail_lines(const Kit& kit, const Layout& layout, double tip_below_mm);

/// The same with the screws that the joints' room picks.
std::vector<RailLine> rail_lines(const Kit& kit, const Layout& layout);

}  // namespace bedwright
