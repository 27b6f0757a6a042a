// The screws as a table: one line a joint, for the text of `make` and `check`.
#pragma once

#include <string>
#include <vector>

#include "joints/joints.h"

namespace bedwright {

/// Columns: joint, pieces, screw with its length, grip in the worst case and by root sum of squares, window of lengths, turns that hold, free way of the tip,
/// torque, and ok or what is wrong. Empty for no joints.
std::string joint_table(const std::vector<JointSolution>& joints);
/// How far the picked lengths themselves may be off. Empty where nothing is picked.
std::string length_note(const std::vector<JointSolution>& joints);

}  // namespace bedwright
