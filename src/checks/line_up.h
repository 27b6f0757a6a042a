// Whether screws at fixed places all pass the holes of one rigid part that may be shifted and turned a little.
// Fixed fastener: a screw of diameter d in a hole of diameter D has (D - d) / 2 of float in every direction, a slot
// its extra length besides. Millimetres.
#pragma once

#include <vector>

#include "base/vec.h"

namespace bedwright {

struct Fit {
  Vec2 hole;            ///< the part's hole as laid down
  Vec2 screw;           ///< where its screw stands
  double float_mm = 0;  ///< radial, >= 0
  double extra_mm = 0;  ///< a slot's length beyond its width
  Vec2 along{1, 0};     ///< its direction, unit
};

/// How far the worst screw stands off, beyond its float, with the part where it is (<= 0: all pass).
double off_by(const std::vector<Fit>& fits);

/// The shift and small turn about the origin with which the worst screw is best off, to 1e-4 mm, and how it is off then
/// (the negative is the float that is left). None at all where that is as good to 1e-3 mm.
struct BestPlace {
  Vec2 shift;
  double turn_rad = 0;
  double off_mm = 0;
};
BestPlace best_place(const std::vector<Fit>& fits);
/// How far each screw stands off there.
std::vector<double> offs_at(const std::vector<Fit>& fits, const BestPlace& place);

/// Whether some shift without a turn lets all screws pass, to 1e-4 mm.
bool lines_up_square(const std::vector<Fit>& fits);

/// Whether some shift and small turn about the origin lets all screws pass, to 1e-4 mm. Turns are taken to first order:
/// within the float of a hole they stay below a degree.
bool lines_up(const std::vector<Fit>& fits);

}  // namespace bedwright
