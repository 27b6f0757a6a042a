// The list of what to buy, from the same joints as the holes.
#pragma once

#include <string>
#include <vector>

#include "output/report.h"

namespace bedwright {

/// Screws, washers and nuts by ISO designation, inserts, rails, carriages, filament in grams (solid, without waste),
/// old screws (used again, or not to be), tools and oil. Lines of one item are added up; spares stand apart.
std::vector<HardwareLine> hardware_list(const Kit& kit, const Layout& layout, const std::vector<PartReport>& parts,
                                        const std::vector<JointSolution>& joints);

/// "item,quantity,spares,for,ask the seller,kind" with RFC 4180 quoting.
std::string hardware_csv(const std::vector<HardwareLine>& lines);

}  // namespace bedwright
