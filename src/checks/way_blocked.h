// What can stop a part from being bolted up as offered: holes, bosses, edges, the carriage and its rail.
// Pose frame (offered.h). Millimetres.
#pragma once

#include <string>
#include <vector>

#include "checks/offered.h"
#include "kit/kit.h"

namespace bedwright {

/// What one convex piece of a plate fills: its outline, or one of its keys. Pose frame.
struct Piece {
  Loop loop;
  double low_mm = 0, high_mm = 0;
  bool key = false;
};
std::vector<Piece> pieces_of(const Offered& offered, Vec2 at = {});

/// The right part at the placement and those at the other placements.
struct Surroundings {
  const Kit& kit;
  const Layout& layout;
  const Placement& placement;
  const Part& right;
  int right_quarter = 0;
  std::vector<Piece> neighbours;  ///< plates at other placements, as they belong there
};

/// Why it does not go on: `what` is one of carriage-holes, frame-holes, holes, boss, edge, key, screw; empty if it goes
/// on.
struct Block {
  std::string what, why;
};

/// How far a flipped part must be lifted so that the face that is now below just rests on the carriage's top (a spacer:
/// on its own face), held level; 0 for one that is not flipped. Bosses left out: they block where they meet it.
double seating_lift_mm(const Surroundings& around, const Offered& offered);

/// The angle from level at which a flipped part comes to rest on the carriage's top (a spacer: on its own), degrees.
double resting_deg(const Surroundings& around, const Offered& offered);

/// Turns, in degrees, that are no quarters and bring every hole of the part near the screw of another.
std::vector<double> odd_angles(const Surroundings& around, const Offered& offered);

Block blocked_by_holes(const Surroundings& around, const Offered& offered);
/// What the part's keys meet as offered: carriage, rail, base or a neighbour; for the right part too.
Block blocked_by_keys(const Surroundings& around, const Offered& offered);
/// Keep-outs that a key sweeps through while the plates travel from end to end.
Block keys_meet_keep_outs(const Surroundings& around, const Offered& offered);
/// Bosses, keys and edges; `underneath` samples the face that is below.
Block blocked_by_bodies(const Surroundings& around, const Offered& offered, const std::vector<FacePoint>& underneath);

}  // namespace bedwright
