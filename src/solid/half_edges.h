// The half edges of a closed mesh: 3 f + k runs from corner k of facet f to the next one. Private to the room.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "base/mesh.h"

namespace bedwright {

inline std::uint32_t from_of(const Mesh& m, std::uint32_t h) {
  return m.triangles[h / 3][h % 3];
}
inline std::uint32_t next_of(std::uint32_t h) {
  return h % 3 == 2 ? h - 2 : h + 1;
}
inline std::uint32_t to_of(const Mesh& m, std::uint32_t h) {
  return from_of(m, next_of(h));
}

struct HalfEdges {
  std::vector<std::uint32_t> in_order;  ///< by where they begin, then by where they end
  std::vector<std::uint32_t> twin;      ///< of each the one that runs back
};

/// Of a closed mesh whose facets all look outward: each half edge has its twin.
HalfEdges half_edges_of(const Mesh& m);

/// Which plane face each facet belongs to, by number, and which half edges lie between two of them.
struct FaceBorders {
  std::vector<std::uint32_t> face;  ///< of each facet, the least facet of its face
  HalfEdges edges;
  std::vector<int> changes;  ///< at each vertex, how often the face changes on the way round it

  bool is_border(std::uint32_t h) const { return face[edges.twin[h] / 3] != face[h / 3]; }
  /// The border of the same face goes on there.
  std::uint32_t next_border(std::uint32_t h) const {
    h = next_of(h);
    while (!is_border(h)) h = next_of(edges.twin[h]);
    return h;
  }
};

/// `flat`: neighbouring facets that lie in one plane.
FaceBorders borders_of(const Mesh& m, HalfEdges edges,
                       const std::vector<std::pair<std::uint32_t, std::uint32_t>>& flat);

}  // namespace bedwright
