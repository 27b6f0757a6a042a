// Signs of determinants that are never wrong: a filtered double, then integers, then expansions.
// Source of the filter's bounds and of the expansions: J. R. Shewchuk, Adaptive Precision Floating-Point Arithmetic and
// Fast Robust Geometric Predicates, 1997.
#pragma once

#include "base/vec.h"

namespace bedwright {

/// +1 when d lies on the side of abc from which a, b, c run clockwise, i.e. below the facet's outside; -1 above; 0 on
/// the plane. (The sign of the determinant of a - d, b - d, c - d.)
int orient(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d);
/// What is left of p without coordinate `drop` (0, 1, 2), the others in cyclic order.
inline Vec2 seen_along(const Vec3& p, int drop) {
  return drop == 0 ? Vec2{p.y, p.z} : drop == 1 ? Vec2{p.z, p.x} : Vec2{p.x, p.y};
}
/// +1 when a, b, c run counter-clockwise; dropping coordinate `drop` (0, 1, 2) keeps the cyclic order of the others.
int orient_plane(const Vec3& a, const Vec3& b, const Vec3& c, int drop);

}  // namespace bedwright
