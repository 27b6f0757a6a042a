// What a shim under one mount does to the whole bed: a plate on springs, as small as it can be and still tell rigid
// from limp. Machine frame, millimetres.
#pragma once

#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// The bed as a thin plate whose deflection is quadratic in x and y (Ritz), on one spring a mount (the sheet):
/// least of  1/2 k sum (w(m_i) - shim_i)^2 + 1/2 D A [w_xx^2 + w_yy^2 + 2 nu w_xx w_yy + 2 (1 - nu) w_xy^2].
/// Curvatures are constant over the plate, so the energy is exact for this shape; a real plate is at most as stiff.
/// Exact for the twist of a plate held at its four corners (thin plates, w = P x y / (2 D (1 - nu)), handbook).
/// rigid: planes only, equal springs; a corner shim of four then moves the corners by +3/4, +1/4, +1/4, -1/4.
/// limp: the bed follows every mount; what lies between is bilinear.
struct BedOnMounts {
  enum class Kind { rigid, stated, limp } kind = Kind::rigid;
  Vec2 bed_mm{};
  double thickness_mm = 0, modulus_gpa = 0, poisson = 0.33;
  double sheet_n_per_mm = 0;  ///< of one mount, the sheet and what carries it
};

/// "rigid", "stated", "limp".
const char* to_text(BedOnMounts::Kind kind);

/// influence[i][p]: rise of point p for 1 mm under mount i. Throws BadInput at /frame/bed_mounts for fewer than three mounts
/// or mounts in a line.
std::vector<std::vector<double>> influence_of(const BedOnMounts& model, const std::vector<Vec2>& mounts,
                                              const std::vector<Vec2>& points);

/// Rigid bed on rigid mounts: the gap at the mount that does not touch, after `shims` on a seat that was good before;
/// 0 for three mounts. The bed rests where its weight, at the middle, is carried.
struct SeatingGap {
  double mm = 0;
  int mount = -1;
};
SeatingGap seating_gap(const std::vector<Vec2>& mounts, const std::vector<double>& shims);

}  // namespace bedwright
