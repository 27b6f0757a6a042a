// From a map to advice: what it is made of, what shims can cure, which ones, what the next map will show, and whether
// the last advice came true. Machine frame, millimetres unless a name says otherwise.
#pragma once

#include <string>
#include <vector>

#include "survey/choose_shims.h"
#include "survey/map_split.h"
#include "survey/plate_on_mounts.h"

namespace bedwright {

struct Mount {
  std::string id;
  Vec2 at;
};

/// All common practice, no source.
inline constexpr double assumed_noise_mm = 0.02;   ///< of one reading, where a single map cannot show it
inline constexpr double printed_shim_u_mm = 0.02;  ///< standard uncertainty of a shim's thickness
inline constexpr double first_factor_u = 0.15;     ///< of a mount's influence before anything was measured
inline constexpr double band_factor = 3;           ///< standard uncertainties in a band
inline constexpr double noise_to_leave = 3;        ///< improvements below so many readings' noise are not worth a part

struct LevelInput {
  HeightMap map;
  std::string source;
  Vec2 bed_mm{};
  std::vector<Mount> mounts;
  std::vector<double> now_mm;            ///< shims in place
  std::vector<double> factor, factor_u;  ///< a mount's influence against the model's, and its uncertainty
  std::vector<ShimChoice> choices;
  BedOnMounts model;  ///< rigid or stated; what is optimised
  bool minimise_rms = false;
  double most_gap_mm = 0.05;
};

struct ModelView {
  BedOnMounts::Kind kind = BedOnMounts::Kind::rigid;
  double range_mm = 0, rms_mm = 0;
};

struct LevelResult {
  MapSplit split;
  double range_mm = 0, rms_mm = 0;  ///< now
  double best_range_mm = 0;         ///< any shims, of any thickness
  double noise_mm = 0;              ///< of one reading
  double noise_u_mm = 0;            ///< its standard uncertainty, s / sqrt(2 degrees of freedom); 0 where assumed
  bool noise_assumed = false;
  ShimPlan plan;  ///< what is advised; the present shims where leave_it
  bool leave_it = false;
  double gain_mm = 0;            ///< of the best plan
  double band_mm = 0;            ///< each point of the next map lies within it of the foretold one, offset free
  SeatingGap gap;                ///< of a rigid bed on the advised shims' changes
  std::vector<ModelView> views;  ///< the advised shims by the optimised model and by the other one
  Vec2 tilt{};                   ///< slope that the changes give to the bed, mm per mm
};

/// Throws what split_map, influence_of and choose_shims throw.
LevelResult level_bed(const LevelInput& input);

/// The influence that level_bed works with: the model's, each mount's row times its factor for what the mount moves
/// against the mean of all; a lift common to all mounts stays what the model says.
std::vector<std::vector<double>> scaled_influence(const LevelInput& input, const BedOnMounts& model);

/// What an earlier run foretold.
struct Foretold {
  std::vector<Vec2> at;
  std::vector<double> before, predicted;
  double band_mm = 0, noise_mm = assumed_noise_mm;
  int repeats = 1;
  std::vector<double> change_mm;         ///< by mount, in the order of LevelInput::mounts
  std::vector<double> factor, factor_u;  ///< as they were then
};

struct LoopResult {
  double worst_mm = 0, rms_mm = 0;  ///< of map minus foretold, offset free
  bool as_foretold = false;
  std::vector<double> factor, factor_u;  ///< now
};

/// Compares and updates the influence of each mount that moved against the mean of all (least squares with the old value
/// as a reading of its own).
/// Throws BadInput where the points are not those of the earlier map.
LoopResult compare_with_foretold(const Foretold& foretold, const LevelInput& input);

}  // namespace bedwright
