#include "solid/half_edges.h"

#include <algorithm>
#include <numeric>
#include <utility>

#include "base/joined.h"

namespace bedwright {

HalfEdges half_edges_of(const Mesh& m) {
  // By where they begin in one pass, then each vertex's few by where they end.
  HalfEdges edges;
  std::vector<std::uint32_t> first(m.vertices.size() + 1, 0);
  for (const auto& t : m.triangles)
    for (const std::uint32_t v : t) ++first[v + 1];
  std::partial_sum(first.begin(), first.end(), first.begin());
  edges.in_order.resize(3 * m.triangles.size());
  std::vector<std::uint32_t> place(first.begin(), first.end() - 1);
  for (std::uint32_t h = 0; h < edges.in_order.size(); ++h) edges.in_order[place[from_of(m, h)]++] = h;
  for (std::size_t v = 0; v < m.vertices.size(); ++v)
    std::sort(edges.in_order.begin() + first[v], edges.in_order.begin() + first[v + 1],
              [&m](std::uint32_t g, std::uint32_t h) { return to_of(m, g) < to_of(m, h); });
  edges.twin.resize(edges.in_order.size());
  for (const std::uint32_t h : edges.in_order) {
    const std::uint32_t from = from_of(m, h), to = to_of(m, h);
    edges.twin[h] = *std::lower_bound(edges.in_order.begin() + first[to], edges.in_order.begin() + first[to + 1], from,
                                      [&m](std::uint32_t g, std::uint32_t wanted) { return to_of(m, g) < wanted; });
  }
  return edges;
}

FaceBorders borders_of(const Mesh& m, HalfEdges edges,
                       const std::vector<std::pair<std::uint32_t, std::uint32_t>>& flat) {
  FaceBorders b;
  b.face.resize(m.triangles.size());
  std::iota(b.face.begin(), b.face.end(), 0u);
  for (const auto& [f, g] : flat) join(b.face, f, g);
  for (std::uint32_t f = 0; f < b.face.size(); ++f) b.face[f] = root_of(b.face, f);
  b.edges = std::move(edges);
  b.changes.assign(m.vertices.size(), 0);
  for (std::uint32_t h = 0; h < b.edges.twin.size(); ++h)
    if (b.is_border(h)) ++b.changes[from_of(m, h)];
  return b;
}

}  // namespace bedwright
