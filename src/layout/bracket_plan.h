// Where an end bracket stands, how high it is, and how it gives under the rails' ends. Machine frame, mm, N/mm.
//
// Spring under a rail: a cantilever from the base's edge to the middle of the pad,
//   1 / k = a^3 / (3 E I) + 1.2 a / (G A),  I = w h^3 / 12,  A = w h,  G = E / (2 (1 + 0.35)),
// a: from the base's edge to the pad's middle; h: the body's height; w: the pad's width and a to either side of it, for
// the load spreads by 45 degrees (common practice, no source), but not beyond the bracket. On the safe side: a plate
// model of the whole bracket is stiffer, by a third at most. Source of the beam: any strength-of-materials text. Base and
// screws count as rigid, the part as printed solid.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "base/loop.h"
#include "kit/kit.h"
#include "layout/layout.h"

namespace bedwright {

struct BracketPad {
  double x_mm = 0;
  double from_mm = 0, to_mm = 0;  ///< Y of what bears the rail
  double lever_mm = 0, width_mm = 0, stiffness_n_mm = 0;
  std::vector<double> screws_y_mm;  ///< rail screws whose slots lie in the pad
};

struct BracketPlan {
  bool front = true;
  double outward() const { return front ? -1 : 1; }
  double base_end_mm = 0;         ///< Y of the base's outermost point across the bracket
  double outer_mm = 0;            ///< Y of the face away from the base
  double inner_mm = 0;            ///< Y to which the body reaches back beside the base's steps
  double left_mm = 0, right_mm = 0;
  double height_mm = 0, pad_height_mm = 0;
  double wanted_n_mm = 0;         ///< stiffness asked for; 0: the height is the kit's
  double low_mm = 0;              ///< Z of its lower face; its pads' tops are the rails' feet
  Loop inner;                     ///< the base's outline, moved outward by the clearance
  std::array<BracketPad, 2> pads;  ///< left, right
};

/// Throws CannotBuild: bracket-no-base, bracket-nothing-to-carry, bracket-soft, bracket-outline.
BracketPlan bracket_plan(const Kit& kit, const Layout& layout, const PartRequest& request);

/// k of the header for one pad.
double pad_stiffness_n_mm(double modulus_mpa, double lever_mm, double width_mm, double height_mm);

/// What holds a rail at x beside the base: the kit's pads, and its end brackets'. Brackets that cannot be made are left
/// out.
std::vector<RailPad> rail_pads(const Kit& kit, const Layout& layout, double x);

/// Rail screws, both rails, that hold in the base and not in a bracket.
int screws_in_base(const Kit& kit, const Layout& layout);

}  // namespace bedwright
