// The advised shims as printable parts: one set, and one sheet with all of them as they lie on the print bed.
#pragma once

#include <map>
#include <string>

#include "output/level_report.h"
#include "output/make_set.h"

namespace bedwright {

struct ShimSheet {
  Report report;                             ///< findings at error level: not to be written
  std::map<std::string, std::string> files;  ///< stl/SHIM.stl each, shims-sheet.stl, report.json
  std::vector<std::string> placed;           ///< "shim-front-left at -40, 0"
};

/// One shim a mount whose thickness changes and is not nothing. At bed mounts: a washer's place round the screw with a
/// tab to the right that carries corner, millimetres, layers, map date, kit and revision, one notch a layer; tapered
/// where the bed's tilt runs to more than 0.05 mm and one layer over the washer's place. At carriages: the carriage's
/// own outline and holes. Every file is read back and measured. Throws CannotBuild; BadUsage where there is nothing to
/// print.
ShimSheet make_shim_sheet(const Kit& kit, const Layout& layout, const LevelReport& level);

}  // namespace bedwright
