// Which facets meet where: welding and edge pairing, on flat arrays. Private to the gauge, but for `welded`.
#pragma once

#include <cstdint>
#include <vector>

#include "base/mesh.h"
#include "base/tasks.h"

namespace bedwright {

inline constexpr std::uint32_t no_edge = 0xffffffffu;

/// Vertices at one float32 position become one vertex (negative zero counts as zero); coordinates are rounded to
/// float32. Facets keep their order and number; vertices are in order of first use.
Mesh welded(const Mesh& soup, const AtOnce& at_once = one_by_one);

/// Half edge h = 3 * facet + k runs from corner k to corner k + 1 of the facet.
struct Topology {
  std::vector<std::uint32_t> other;   ///< the half edge across, or no_edge where the edge has not exactly two facets
  std::vector<std::uint8_t> against;  ///< 1 where that pair runs the same way, so one of the facets is turned over
  int edges = 0;                      ///< distinct edges
  int unpaired = 0;                   ///< edges with one facet or with more than two
  int same_way = 0;                   ///< paired edges whose facets run the same way
};
/// Facets with a repeated vertex take no part (their half edges have no other).
Topology topology_of(const Mesh& mesh);

/// Half edges in buckets of their lower vertex.
struct EdgeBuckets {
  struct Edge {
    std::uint32_t upper, half_edge;
  };
  std::vector<std::uint32_t> first;  ///< per vertex, and the end
  std::vector<Edge> edges;
  Topology unpaired;  ///< of the mesh's size, to be filled
};
EdgeBuckets edge_buckets(const Mesh& mesh);
/// The same topology, from the mesh's buckets.
Topology topology_of(const Mesh& mesh, EdgeBuckets buckets, const AtOnce& at_once);

inline std::uint32_t facet_of(std::uint32_t half_edge) {
  return half_edge / 3;
}
inline std::uint32_t start_of(const Mesh& m, std::uint32_t h) {
  return m.triangles[h / 3][h % 3];
}
inline std::uint32_t end_of(const Mesh& m, std::uint32_t h) {
  return m.triangles[h / 3][(h % 3 + 1) % 3];
}
inline bool has_repeated_vertex(const std::array<std::uint32_t, 3>& t) {
  return t[0] == t[1] || t[1] == t[2] || t[2] == t[0];
}

}  // namespace bedwright
