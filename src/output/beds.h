// The set laid out on the printer's beds.
#pragma once

#include "output/make_set.h"

namespace bedwright {

/// All copies of all parts, as few beds as packing finds; file names "KIT.3mf", or "KIT-bed-1.3mf" and so on where one
/// bed is not enough. Parts that fit no bed are left out: a check says so.
std::vector<BedReport> bed_reports(const Kit& kit, const std::vector<MadePart>& parts);
/// The two large files of a bed's package (output/write_3mf.h).
struct BedPieces {
  std::string model, picture;
};
/// Adds the tasks that make each bed's, from the meshes as they were read back; `pieces` has one a bed.
void add_bed_tasks(const Report& report, const std::vector<MadePart>& parts, std::vector<BedPieces>& pieces,
                   std::vector<Task>& tasks);

}  // namespace bedwright
