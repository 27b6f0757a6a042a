// The lattice on which every built coordinate lies, so that float32 (STL) loses nothing.
// 2^-16 mm holds up to 256 mm, 2^-14 mm up to 1024 mm: 24 bits of mantissa either way.
#pragma once

#include <cmath>

#include "base/vec.h"

namespace bedwright {

struct Lattice {
  double step_mm = 1.0 / 65536.0;
};

/// The finest lattice on which coordinates up to `extent_mm` (largest |x|, |y| or |z|) are exact in float32.
inline Lattice lattice_for(double extent_mm) { return {extent_mm < 255.0 ? 1.0 / 65536.0 : 1.0 / 16384.0}; }
/// Largest coordinate that any lattice here holds exactly in float32.
inline constexpr double largest_coordinate_mm = 1024.0;

inline double snap(double v, Lattice lattice = {}) {
  return std::floor(v / lattice.step_mm + 0.5) * lattice.step_mm;
}
inline Vec2 snap(Vec2 p, Lattice lattice = {}) { return {snap(p.x, lattice), snap(p.y, lattice)}; }
inline Vec3 snap(Vec3 p, Lattice lattice = {}) {
  return {snap(p.x, lattice), snap(p.y, lattice), snap(p.z, lattice)};
}

}  // namespace bedwright
