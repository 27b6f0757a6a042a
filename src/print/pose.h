// How a part lies on the print bed.
#pragma once

#include <string>

#include "base/mesh.h"
#include "parts/part.h"

namespace bedwright {

struct Pose {
  Transform print_to_part;    ///< p_part = M p_print; rotation by quarter turns and a shift on the lattice
  double overhang_mm2 = 0;    ///< area steeper than 45 degrees from vertical, facing down, off the bed
  double contact_mm2 = 0;     ///< area lying on the bed
  double height_mm = 0;
  std::string why;            ///< one sentence
};

/// Tries the six ways a part can lie (and, for each, the turn about Z that fits the bed) and takes the one with the least
/// cost: overhang first, then contact and height. Print frame: box centre at x = y = 0 (snapped), lowest point at z = 0.
Pose choose_pose(const Part& part, const Mesh& solid, const PrinterProfile& printer);

/// The solid in the print frame, coordinates still on the lattice.
Mesh in_print_frame(const Mesh& solid, const Pose& pose);

}  // namespace bedwright
