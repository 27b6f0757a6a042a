// Facets of proven sheets in runs that lie together, so that a search for near ones has fewer boxes to part. Private to
// the gauge.
#pragma once

#include <cstdint>
#include <vector>

#include "base/box.h"
#include "gauge/sheets.h"

namespace bedwright {

struct BoxedFacet {
  Box box;
  std::uint32_t facet = 0;
};

inline BoxedFacet boxed(const Mesh& mesh, std::uint32_t f) {
  const auto& t = mesh.triangles[f];
  const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
  return {both({a, a}, both({b, b}, {c, c})), f};
}

/// A sheet's facets, in runs that lie together: what the search begins with. Those of a sheet that is not proven stand
/// alone, since any two of them are asked for.
struct Blocks {
  std::vector<std::uint32_t> first;  ///< where each begins in Sheets::facets, and the end
  std::vector<Box> boxes;
  std::vector<std::uint32_t> first_of_sheet;  ///< per sheet its first block, and their number
};

/// Deterministic, linear.
Blocks blocks_of(const Mesh& mesh, const Sheets& sheets);

}  // namespace bedwright
