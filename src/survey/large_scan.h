// A scan of millions of points that is gone through without being kept: twice through the file takes less time than the
// memory for it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "survey/cloud.h"
#include "survey/ply_vertices.h"
#include "survey/region.h"

namespace bedwright {

struct LargeScan {
  std::string path;
  PlyVertices vertices;
  std::optional<Region> region;
  std::size_t in_file = 0, skipped = 0;  ///< points with finite coordinates, and without
  std::size_t count = 0;                 ///< those in the region
  std::vector<Vec3> some_in_file, some;  ///< even choices at random of both
};

/// Goes through the file once, in pieces of a fixed size. Nothing where that would gain nothing: no binary PLY with
/// vertices of one length, or so few points that they are judged one by one, in the file or in the region. Throws as
/// read_scan does, by the same limits.
std::optional<LargeScan> look_through(const std::string& path, const std::optional<Region>& region,
                                      const AtOnce& at_once = one_by_one);

/// The points in the region, read anew each time; a file that was changed meanwhile throws FileError where it is too
/// short. A view of the scan.
Cloud cloud_of(const LargeScan& scan);

}  // namespace bedwright
