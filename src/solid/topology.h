// Whether a built mesh is a solid: closed, two-sided, in one piece, without slivers.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/mesh.h"

namespace bedwright {

struct Defect {
  std::string code;                      ///< not-closed, touching-edge, touching-vertex, sliver, pieces
  std::vector<std::uint32_t> vertices;   ///< where
  double value = 0;                      ///< sliver: height in mm; pieces: their number
};

/// The first defect found, or nothing. Linear in the facets.
std::optional<Defect> find_defect(const Mesh& mesh, double least_height);

}  // namespace bedwright
