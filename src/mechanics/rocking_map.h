// Rocking at points of the bed, before and after: lift at the nozzle and lean at the print's height.
// Closed form: play / base x arm (motion.h). Old base along the rods: how far the blocks on one rod are apart; with one
// block a rod, its bushing's length. Across: how far the rods are apart, told by the blocks; the rail pitch where they
// are not given.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "kit/kit.h"
#include "mechanics/motion.h"

namespace bedwright {

struct RockingPoint {
  std::string id;  ///< middle, front, rear, left, right, front-left, ...
  Vec2 at;
  std::optional<RockingAt> before;
  RockingAt after;
};

struct RockingMap {
  double print_height_mm = 0;
  double after_along_mm = 0, after_across_mm = 0;    ///< the bases
  double before_along_mm = 0, before_across_mm = 0;  ///< 0: not known
  std::string before_base;                           ///< in words, how it was found
  std::vector<RockingPoint> points;
};

/// The old bearings' base; zero without `before`.
Vec2 old_base_mm(const Kit& kit, std::string& how);
/// Points of the bed, or where no bed is given of the outermost holes.
RockingMap rocking_map(const Kit& kit);

/// What a proof piece tells, and what new rails will not cure.
struct Diagnosis {
  std::string verdict;  ///< "play", "not-play", "ringing", "unknown"
  std::vector<std::string> words;
  std::optional<double> ripple_hz;  ///< f = v / wavelength
  std::optional<double> belt_hz_before, belt_hz_after;
  std::vector<std::string> not_cured;
};
/// `moving_before_g`, `moving_after_g`: 0 where not known.
Diagnosis diagnose(const Kit& kit, const RockingMap& map, double moving_before_g, double moving_after_g);

}  // namespace bedwright
