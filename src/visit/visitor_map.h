// A visitor's own bed map, pasted into a published page: which shims, printed in whole layers, go under which mount.
#pragma once

#include <optional>
#include <string>

#include "output/level_report.h"

namespace bedwright {

struct VisitorMap {
  std::string text;                  ///< as copied from a file or screen
  std::optional<GridExtent> extent;  ///< for rows of heights alone; map frame
  MapConvention convention;          ///< as the visitor knows it: never guessed
};

/// Advice for the kit's bed mounts, the bed taken as rigid, nothing under the mounts yet. Throws BadInput for a map
/// that cannot be read, or a kit without three mounts.
LevelReport level_visitor_map(const Kit& kit, const VisitorMap& map);

}  // namespace bedwright
