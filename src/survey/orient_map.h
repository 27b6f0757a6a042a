// Which way up and which way round a machine's bed maps are, found from a shim of known thickness under a named mount.
// Never guessed: of the 8 turnings and mirrors and the 2 signs all but one must be ruled out, or the answer is a
// refusal.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "survey/bed_map.h"

namespace bedwright {

struct KnownShim {
  std::string mount;
  int index = 0;  ///< into the mounts
  double mm = 0;
  BedMap before, after;  ///< same points; before without the shim
};

struct Orientation {
  std::optional<MapConvention> found;
  std::string why;       ///< one sentence: how it was found, or what stands in the way and what to do
  double misfit = 0;     ///< share of the foretold change (root mean square) that the best case leaves unexplained
  double clearance = 0;  ///< how much worse the second best case is, as a share of the foretold change squared
};

/// "a positive number means low, the map is turned by 180 degrees and not mirrored".
std::string spoken(const MapConvention& convention);

/// The change that the shim makes is foretold as a plane through a quarter of the shim at the middle (rigid bed) plus
/// any part of the twist that a limp bed would show. A case counts as found if it explains the change, and each other
/// case is worse by more than noise and more than a tenth of the change. Both maps of a pair must have one zero that
/// does not move with the bed: a map zeroed on the bed does not show whether the corner rose or the opposite one sank.
/// It is refused where it shows (a point that is nothing in both maps, a middle that did not rise by a quarter of the
/// shim). A rectangular map that would not fit on the bed turned by a quarter tells x from y by itself; else it takes
/// two shims at corners next to each other, or what the owner sees: `probed_mm`, how wide (machine X) and how deep
/// (machine Y) the probed area is. `bed_mm`: the machine's bed. Throws BadInput naming the map where the points'
/// box is not of `probed_mm`, either way round, within probed_share.
Orientation find_orientation(const std::vector<KnownShim>& shims, const std::vector<Vec2>& mounts, Vec2 bed_mm,
                             Vec2 centre_mm, std::optional<Vec2> probed_mm = {});
inline constexpr double probed_share = 0.05;

}  // namespace bedwright
