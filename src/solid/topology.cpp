#include "solid/topology.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace bedwright {
namespace {

double triangle_height(Vec3 a, Vec3 b, Vec3 c) {
  const Vec3 n = cross(b - a, c - a);
  const double longest = std::max({dot(b - a, b - a), dot(c - b, c - b), dot(a - c, a - c)});
  return longest > 0 ? std::sqrt(dot(n, n) / longest) : 0;
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

  for (std::uint32_t a = 0; a < n; ++a) {
    const auto first = corners.begin() + start[a], last = corners.begin() + start[a + 1];
    if (first == last) continue;
    std::sort(first, last, [](const Corner& x, const Corner& y) { return x.b < y.b; });
    for (auto it = first; it + 1 != last; ++it)
      if (it->b == (it + 1)->b) return Defect{"touching-edge", {a, it->b}, 0};
    // Round the vertex: the facet after (a, b, c) is the one that begins with c.
    std::size_t count = 0;
    std::uint32_t here = first->b;
    do {
      const auto it = std::lower_bound(first, last, here, [](const Corner& x, std::uint32_t b) { return x.b < b; });
      if (it == last || it->b != here) return Defect{"not-closed", {a, here}, 0};
      here = it->c;
      ++count;
    } while (here != first->b && count <= static_cast<std::size_t>(last - first));
    if (count != static_cast<std::size_t>(last - first)) return Defect{"touching-vertex", {a}, 0};
  }
  for (const auto& t : mesh.triangles) {
    const double h = triangle_height(mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]);
    if (h < least_height) return Defect{"sliver", {t[0], t[1], t[2]}, h};
  }
  std::vector<std::uint32_t> root(n);
  std::iota(root.begin(), root.end(), 0u);
  const auto find = [&](std::uint32_t i) {
    while (root[i] != i) i = root[i] = root[root[i]];
    return i;
  };
  std::size_t pieces = n;
  for (const auto& t : mesh.triangles)
    for (int i = 0; i < 2; ++i) {
      const std::uint32_t a = find(t[i]), b = find(t[i + 1]);
      if (a == b) continue;
      root[std::max(a, b)] = std::min(a, b);
      --pieces;
    }
  if (pieces != 1) {
    Defect d{"pieces", {}, static_cast<double>(pieces)};
    for (std::uint32_t v = 0; v < n; ++v)
      if (find(v) != find(0) && find(v) == v) d.vertices.push_back(v);
    return d;
  }
  return std::nullopt;
}

}  // namespace bedwright
