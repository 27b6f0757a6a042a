// Keys: small blocks on a plate that are in the way of something only when the plate is put on wrongly.
// What can be in the way of a plate is little: its own carriage and rail look the same turned by half a turn, so a key
// reaches for the next plate on the rail, stands beside the carriage's flank, or, hanging down, holds a plate that is
// upside down so high that no frame screw reaches its insert.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "base/tasks.h"
#include "parts/part.h"

namespace bedwright {

/// One block. Machine axes, origin at the carriage's centre, z = 0 the carriage's top; millimetres.
struct KeyBlock {
  PlaneBox box{};
  double from_mm = 0, to_mm = 0;
  Vec2 outward;  ///< unit, along an axis: away from the plate
};

struct KeyPlan {
  std::string words;                                    ///< "a tab at the outer edge"
  std::map<std::string, std::vector<KeyBlock>> blocks;  ///< by placement
  double added_mm3 = 0;                                 ///< beyond the plates' edges and undersides, all placements
};

/// Keys that the plates of one request could carry, least added volume first (equal ones in a fixed order). None
/// touches the sheet (0.5 mm below it), a carriage, a rail, the base or another plate where the plates lie as they
/// should; which wrong ways each blocks is not asked here. `plates`: the request's parts, unkeyed and ungrouped, one a
/// placement; `others`: plates of other requests, likewise.
std::vector<KeyPlan> key_plans(const Kit& kit, const Layout& layout, const std::vector<Part>& plates,
                               const std::vector<Part>& others);

/// Adds the plan's blocks to an ungrouped part, before anything is cut. Where a block crosses the outline the part
/// loses its bottom chamfer, and says so.
void add_key(const Kit& kit, const KeyPlan& plan, Part& part);

/// derive_parts with keys, by the request's id; their parts are grouped with their keys on, and marked at once.
std::vector<Part> derive_parts(const Kit& kit, const Layout& layout, const std::map<std::string, KeyPlan>& keys,
                               const AtOnce& at_once = one_by_one);

}  // namespace bedwright
