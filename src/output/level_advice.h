// From a kit and a map to what `level` advises, and what that would do if the map was read the wrong way.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "layout/layout.h"
#include "output/level_report.h"

namespace bedwright {

/// What may be asked beside the kit.
struct LevelWishes {
  std::vector<double> stock_mm;  ///< shims at hand; empty: the kit's bed_map.stock_mm, else printed ones
  double most_shim_mm = 2;       ///< under one mount
  double most_gap_mm = 0.05;     ///< that a rigid bed may be left with
  bool rms = false;              ///< make the root mean square least, not the range
};

/// Where shims may go, in the order to try: "bed_mounts", "carriages". Throws BadInput where the kit has neither.
std::vector<std::string> shim_places(const Kit& kit);
/// Machine frame, ids as in the kit (carriages: the placements').
std::vector<Mount> mounts_at(const Kit& kit, const Layout& layout, const std::string& place);
/// The bed's size; without a bed that of the mounts' box, which `assumptions` then says.
Vec2 bed_size(const Kit& kit, const std::vector<Mount>& mounts, std::vector<std::string>& assumptions);
/// Index of a mount. Throws BadUsage that names `where` and the mounts there are.
std::size_t mount_index(const std::vector<Mount>& mounts, const std::string& id, const std::string& where);
/// Shims that the kit says are in place; nothing where it says nothing.
std::optional<std::vector<double>> shims_in_kit(const Kit& kit, const std::vector<Mount>& mounts, bool at_carriages);
/// What bed_map.soft_foot says.
std::vector<FootGap> foot_gaps_in_kit(const Kit& kit, const std::vector<Mount>& mounts);
inline constexpr double foot_pad_mm = 18;

/// All that level_bed needs, `result` still empty. Throws BadUsage for stock or limits that leave nothing to choose
/// from.
LevelReport level_question(const Kit& kit, const BedMap& map, const MapReading& reading,
                           const std::vector<Mount>& mounts, const std::string& place, const LevelWishes& wishes);
/// Whether `b` is the flatter of two answers.
bool flatter(const LevelReport& b, const LevelReport& a);

/// The advice for the maps that the kit names, by the convention that it states; nothing where it names none.
std::optional<LevelReport> level_of_kit(const Kit& kit, const Layout& layout);

/// What the advised shims would leave if the map had been read the wrong way.
struct OtherReading {
  MapConvention convention;
  double range_mm = 0;  ///< of the next map then
};

/// All other ways to read the map that fit the bed, the worst first; empty where no shim changes. `map` in its own
/// frame.
std::vector<OtherReading> other_readings(const LevelReport& report, const BedMap& map);

}  // namespace bedwright
