// Where findings about rails and carriages have their place.
#pragma once

#include <string>
#include <vector>

#include "base/finding.h"
#include "layout/rail_line.h"

namespace bedwright {

/// On the rail's upper face at y, machine frame.
inline FindingPlace on_rail(const Kit& kit, const RailLine& rail, double y_mm) {
  return {rail.side + " rail",
          Vec3{rail.x_mm, y_mm, kit.rails.size.height_mm - kit.carriages.size.assembly_height_mm}};
}

/// The rail as a whole.
inline FindingPlace whole_rail(const std::string& side) {
  return {side + " rail"};
}

/// The carriage of a placement.
inline FindingPlace carriage_at(const std::string& placement) {
  return {"carriage " + placement};
}

/// Every screw of the rails.
inline std::vector<FindingPlace> at_rail_screws(const Kit& kit, const std::vector<RailLine>& rails) {
  std::vector<FindingPlace> places;
  for (const RailLine& rail : rails)
    for (const RailScrew& s : rail.screws) places.push_back(on_rail(kit, rail, s.y_mm));
  return places;
}

}  // namespace bedwright
