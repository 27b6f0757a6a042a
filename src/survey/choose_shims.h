// The best shims that can be had: exact integer search over whole layers or a stock of thicknesses.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// What may stand under a mount.
struct ShimChoice {
  double mm = 0;               ///< nominal; 0: no shim
  int layers = 0;              ///< 0 for stock and for no shim
  std::vector<double> pieces;  ///< of the stock
};

/// Ascending from no shim; thickness + height compensation is the first layer and whole layers above it.
std::vector<ShimChoice> printed_choices(double layer_mm, double first_layer_mm, double height_compensation_mm,
                                        double most_mm);
/// Ascending from no shim; stacks of up to `most_pieces` (few thick, not many thin: trade rule), each size as often as
/// wanted; of stacks equally thick the one with fewest pieces.
std::vector<ShimChoice> stock_choices(const std::vector<double>& stock_mm, int most_pieces, double most_mm);

struct ShimTask {
  std::vector<double> z;                       ///< the map now, machine frame, up
  std::vector<std::vector<double>> influence;  ///< [mount][point], see plate_on_mounts
  std::vector<double> now_mm;                  ///< what stands under each mount now
  std::vector<Vec2> mounts;                    ///< for the seating gap
  std::vector<ShimChoice> choices;
  bool minimise_rms = false;          ///< else the range
  std::optional<double> most_gap_mm;  ///< greatest seating gap that a rigid bed may be left with
};

struct ShimPlan {
  std::vector<int> choice;        ///< by mount; -1: what stands there now, which is none of the choices
  std::vector<double> shim_mm;    ///< by mount
  std::vector<double> predicted;  ///< the map after
  double range_mm = 0, rms_mm = 0;
  int moved = 0;  ///< mounts whose shim changes
};

/// Equal to this are taken as equally good: the tie is then broken by fewest mounts changed, fewest pieces, least total
/// thickness, and the order of the mounts.
inline constexpr double equally_good_mm = 1e-6;

/// The exact optimum (up to equally_good_mm) over all choices at all mounts. Depth first with a bound on the range from
/// pairs of points; every choice is tried or ruled out. Throws BadUsage where the search would be too long.
ShimPlan choose_shims(const ShimTask& task);

/// The map after given shims.
std::vector<double> predicted_map(const ShimTask& task, const std::vector<double>& shim_mm);

}  // namespace bedwright
