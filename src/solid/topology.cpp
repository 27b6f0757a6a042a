#include "solid/topology.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace bedwright {
namespace {

constexpr std::ptrdiff_t few_corners = 12;

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
    // A handful of corners is searched from end to end, a fan's hundreds in order.
    const bool many = last - first > few_corners;
    if (many) std::sort(first, last, [](const Corner& x, const Corner& y) { return x.b < y.b; });
    const auto beginning = [&](std::uint32_t b) {
      const auto it = many ? std::lower_bound(first, last, b, [](const Corner& x, std::uint32_t v) { return x.b < v; })
                           : std::find_if(first, last, [&](const Corner& x) { return x.b == b; });
      return it != last && it->b == b ? it : last;
    };
    for (auto it = first; it + 1 != last; ++it)
      if (many ? it->b == (it + 1)->b : std::any_of(it + 1, last, [&](const Corner& x) { return x.b == it->b; }))
        return Defect{"touching-edge", {a, it->b}, 0};
    // Round the vertex: the facet after (a, b, c) is the one that begins with c.
    std::size_t count = 0;
    auto here = first;
    do {
      const auto next = beginning(here->c);
      if (next == last) return Defect{"not-closed", {a, here->c}, 0};
      here = next;
      ++count;
    } while (here != first && count <= static_cast<std::size_t>(last - first));
    if (count != static_cast<std::size_t>(last - first)) return Defect{"touching-vertex", {a}, 0};
  }
  for (const auto& t : mesh.triangles) {
    const double h = triangle_height(mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]]);
    if (h < least_height) return Defect{"sliver", {t[0], t[1], t[2]}, h};
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
