// The set laid out on the printer's beds.
#pragma once

#include "output/make_set.h"

namespace bedwright {

/// All copies of all parts, as few beds as packing finds; file names "KIT.3mf", or "KIT-bed-1.3mf" and so on where one
/// bed is not enough. Parts that fit no bed are left out: a check says so.
std::vector<BedReport> bed_reports(const Kit& kit, const std::vector<MadePart>& parts);
/// The package of one bed, from the meshes as they were read back.
std::string bed_file(const Report& report, std::size_t bed, const std::vector<MadePart>& parts);

}  // namespace bedwright
