// Where a carriage screw's head bears, so that a screw length from stock ends inside its window. Windows and lengths
// are the joints'.
#pragma once

#include <optional>
#include <string>

#include "joints/joints.h"

namespace bedwright {

struct ScrewPick {
  double length_mm = 0, grip_mm = 0;
  double grip_least_mm = 0, grip_greatest_mm = 0;  ///< this length's window
};

/// The grip in [least, greatest] with the most room to both ends of a first-choice length's window (0.15 mm is ample);
/// of equals the longest grip. Nothing if no length fits.
std::optional<ScrewPick> pick_screw(const std::string& thread, const Anchor& anchor, const JointRules& rules,
                                    double least, double greatest);

}  // namespace bedwright
