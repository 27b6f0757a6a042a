#include "solid/topology.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace bedwright {
namespace {

struct Squares {
  double normal, longest;  ///< of twice the area, of the longest edge
};

Squares squares(Vec3 a, Vec3 b, Vec3 c) {
  const Vec3 n = cross(b - a, c - a);
  return {dot(n, n), std::max({dot(b - a, b - a), dot(c - b, c - b), dot(a - c, a - c)})};
}

}  // namespace

std::optional<Defect> find_defect(const Mesh& mesh, double least_height) {
  const std::size_t n = mesh.vertices.size();
  // Corners bucketed by their first vertex: entry (b, c) under a for each facet (a, b, c) and its turns.
  std::vector<std::uint32_t> start(n + 1, 0);
  for (const auto& t : mesh.triangles)
    for (std::uint32_t v : t) ++start[v + 1];
  std::partial_sum(start.begin(), start.end(), start.begin());
  struct Corner {
    std::uint32_t b, c;
  };
  std::vector<Corner> corners(start[n]);
  std::vector<std::uint32_t> fill(start.begin(), start.end() - 1);
  for (const auto& t : mesh.triangles)
    for (int i = 0; i < 3; ++i) corners[fill[t[i]]++] = {t[(i + 1) % 3], t[(i + 2) % 3]};

  // Where the corner of the vertex at hand that begins with b stands; stale unless that corner says the same.
  std::vector<std::uint32_t> standing(n, 0);
  for (std::uint32_t a = 0; a < n; ++a) {
    const std::uint32_t first = start[a], last = start[a + 1];
    if (first == last) continue;
    for (std::uint32_t i = first; i < last; ++i) standing[corners[i].b] = i;
    for (std::uint32_t i = first; i < last; ++i)
      if (standing[corners[i].b] != i) return Defect{"touching-edge", {a, corners[i].b}, 0};
    // Round the vertex: the facet after (a, b, c) is the one that begins with c.
    std::uint32_t count = 0, here = first;
    do {
      const std::uint32_t next = standing[corners[here].c];
      if (next < first || next >= last || corners[next].b != corners[here].c)
        return Defect{"not-closed", {a, corners[here].c}, 0};
      here = next;
      ++count;
    } while (here != first && count <= last - first);
    if (count != last - first) return Defect{"touching-vertex", {a}, 0};
  }
  for (const auto& t : mesh.triangles) {
    const Squares s = squares(mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]);
    if (s.normal < least_height * least_height * s.longest || s.longest == 0)
      return Defect{"sliver", {t[0], t[1], t[2]}, s.longest > 0 ? std::sqrt(s.normal / s.longest) : 0};
  }
  // Pieces, each flooded from its first vertex; a vertex without facets is one too.
  Defect d{"pieces", {}, 0};
  std::vector<char> seen(n, 0);
  std::vector<std::uint32_t> todo;
  for (std::uint32_t v = 0; v < n; ++v) {
    if (seen[v]) continue;
    ++d.value;
    if (v > 0) d.vertices.push_back(v);
    seen[v] = 1;
    todo.push_back(v);
    while (!todo.empty()) {
      const std::uint32_t at = todo.back();
      todo.pop_back();
      // Closed, so each neighbour begins some corner here.
      for (std::uint32_t i = start[at]; i < start[at + 1]; ++i)
        if (const std::uint32_t next = corners[i].b; !seen[next]) seen[next] = 1, todo.push_back(next);
    }
  }
  if (d.value != 1) return d;
  return std::nullopt;
}

}  // namespace bedwright
