// The list of what to buy, from the same joints as the holes.
#pragma once

#include <string>
#include <vector>

#include "output/report.h"

namespace bedwright {

/// Screws by ISO designation, inserts, nuts, rails, carriages, and filament in grams (solid, without waste).
/// Lines of one item are added up; order: screws, nuts, inserts, rails, filament.
std::vector<HardwareLine> hardware_list(const Kit& kit, const Layout& layout, const std::vector<PartReport>& parts,
                                        const std::vector<JointSolution>& joints);

/// "item,quantity,for" with RFC 4180 quoting.
std::string hardware_csv(const std::vector<HardwareLine>& lines);

}  // namespace bedwright
