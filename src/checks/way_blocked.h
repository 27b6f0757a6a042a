// What can stop a part from being bolted up as offered: holes, bosses, edges, the carriage and its rail.
// Pose frame (offered.h). Millimetres.
#pragma once

#include <string>
#include <vector>

#include "checks/offered.h"
#include "kit/kit.h"

namespace bedwright {

/// The right part at the placement and those at the other placements.
struct Surroundings {
  const Kit& kit;
  const Layout& layout;
  const Placement& placement;
  const Part& right;
  int right_quarter = 0;
  std::vector<Loop> neighbours;  ///< outlines of plates at other placements, as they belong there
};

/// Why it does not go on: `what` is one of carriage-holes, frame-holes, holes, boss, edge, screw; empty if it goes on.
struct Block {
  std::string what, why;
};

/// How far a flipped part must be lifted so that the face that is now below just rests on the carriage's top (a spacer:
/// on its own face), held level; 0 for one that is not flipped. Bosses left out: they block where they meet it.
double seating_lift_mm(const Surroundings& around, const Offered& offered);

Block blocked_by_holes(const Surroundings& around, const Offered& offered);
/// Bosses and edges; `underneath` samples the face that is below.
Block blocked_by_bodies(const Surroundings& around, const Offered& offered, const std::vector<FacePoint>& underneath);

}  // namespace bedwright
