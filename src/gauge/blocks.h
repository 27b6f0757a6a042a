// Facets of proven sheets in runs that lie together, so that a search for near ones has fewer boxes to part. Private to
// the gauge.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "gauge/sheets.h"

namespace bedwright {

inline Box both(const Box& a, const Box& b) {
  return {{std::min(a.low.x, b.low.x), std::min(a.low.y, b.low.y), std::min(a.low.z, b.low.z)},
          {std::max(a.high.x, b.high.x), std::max(a.high.y, b.high.y), std::max(a.high.z, b.high.z)}};
}

struct BoxedFacet {
  Box box;
  std::uint32_t facet = 0;
};

inline BoxedFacet boxed(const Mesh& mesh, std::uint32_t f) {
  const auto& t = mesh.triangles[f];
  const Vec3 &a = mesh.vertices[t[0]], &b = mesh.vertices[t[1]], &c = mesh.vertices[t[2]];
  return {both({a, a}, both({b, b}, {c, c})), f};
}

inline bool meet(const Box& a, const Box& b) {
  return a.low.x <= b.high.x && b.low.x <= a.high.x && a.low.y <= b.high.y && b.low.y <= a.high.y &&
         a.low.z <= b.high.z && b.low.z <= a.high.z;
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
