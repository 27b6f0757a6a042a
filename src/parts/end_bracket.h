// End bracket: stands on the end of the machine's base, follows its outline, and carries the rails' ends that reach
// beyond it.
#pragma once

#include <vector>

#include "joints/joints.h"
#include "parts/part.h"

namespace bedwright {

/// A hole along X or Y ends this far beyond the face that it comes out of.
inline constexpr double beyond_face_mm = 1;

/// One part, or two halves ("-left", "-right") where `split` says so. All of it is drawn on the plane that it lies on in
/// print, so that every wall stands up; holes along X and Y have a point, openings a roof. No insert is pressed into it:
/// nuts hold its screws.
/// Part frame: machine axes, x = 0 between the rails, y = 0 the base's outermost point across the bracket, z = 0 the
/// bracket's lower face.
/// Throws CannotBuild: as bracket_plan does, and bracket-pose, bracket-screw, bracket-opening, bracket-split,
/// bracket-crowded, bracket-long, no-screw-length.
std::vector<Part> derive_end_bracket(const Kit& kit, const Layout& layout, const PartRequest& request);

/// Id, revision, UP and an arrow to the front on the upper face.
void mark_end_bracket(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part);

/// The rails' screws in its pads, those that hold it on the base, and the one that holds two halves together.
std::vector<Joint> bracket_joints(const Kit& kit, const Part& part);

}  // namespace bedwright
