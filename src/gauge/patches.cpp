#include "gauge/patches.h"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "base/large_pages.h"
#include "base/trig.h"

namespace bedwright {
namespace {

/// All facets in classes of nearly one size, the largest first; those of a class by number.
std::vector<std::uint32_t> seeds_of(const std::vector<Facing>& facings) {
  constexpr std::size_t classes = 1 << 15;
  // Of positive doubles the leading bits rise with the value: sixteen classes an octave.
  const auto class_of = [](double size) {
    std::uint64_t bits;
    std::memcpy(&bits, &size, sizeof bits);
    return classes - 1 - static_cast<std::size_t>(bits >> 48);
  };
  std::vector<std::uint32_t> next(classes + 1, 0), seeds;
  for (const Facing& facing : facings) ++next[class_of(facing.twice_area) + 1];
  for (std::size_t c = 0; c < classes; ++c) next[c + 1] += next[c];
  assign_large(seeds, facings.size(), 0u);
  for (std::uint32_t f = 0; f < facings.size(); ++f) seeds[next[class_of(facings[f].twice_area)]++] = f;
  return seeds;
}

void grow_patches(const Mesh& mesh, const Topology& topology, const std::vector<Facing>& facings, Patches& out) {
  assign_large(out.of_facet, mesh.triangles.size(), no_patch);
  std::vector<std::uint32_t> stack;
  for (const std::uint32_t seed : seeds_of(facings)) {
    if (out.of_facet[seed] != no_patch || facings[seed].twice_area == 0) continue;
    const auto number = static_cast<std::uint32_t>(out.patches.size());
    const Vec3 normal = (1 / facings[seed].twice_area) * facings[seed].vector;
    const Vec3 origin = mesh.vertices[mesh.triangles[seed][0]];
    Patch patch;
    patch.first_border = static_cast<std::uint32_t>(out.borders.size());
    out.of_facet[seed] = number;
    stack.assign(1, seed);
    Vec3 sum{};
    double twice = 0;
    const auto belongs = [&](std::uint32_t g, std::uint32_t across) {
      const Facing& facing = facings[g];
      if (out.of_facet[g] != no_patch || facing.twice_area == 0) return false;
      if (dot(facing.vector, normal) < 0.9 * facing.twice_area) return false;
      const Vec3 tip = mesh.vertices[mesh.triangles[g][(across % 3 + 2) % 3]];
      return std::fabs(dot(tip - origin, normal)) <= out.tolerance_mm;
    };
    while (!stack.empty()) {
      const std::uint32_t f = stack.back();
      stack.pop_back();
      ++patch.facets;
      sum = sum + facings[f].vector;
      const auto& t = mesh.triangles[f];
      const Vec3 middle = (1.0 / 3) * (mesh.vertices[t[0]] + mesh.vertices[t[1]] + mesh.vertices[t[2]]);
      patch.centroid = patch.centroid + facings[f].twice_area * middle;
      twice += facings[f].twice_area;
      for (std::uint32_t k = 0; k < 3; ++k) {
        const std::uint32_t across = topology.other[3 * f + k];
        const std::uint32_t g = facet_of(across);
        if (across != no_edge && out.of_facet[g] == number) continue;
        if (across == no_edge || !belongs(g, across)) {
          out.borders.push_back(3 * f + k);
          continue;
        }
        out.of_facet[g] = number;
        stack.push_back(g);
      }
    }
    const auto begin = [&] { return out.borders.begin() + patch.first_border; };
    const auto came_in = [&](std::uint32_t h) {  // by another edge, later on
      return topology.other[h] != no_edge && out.of_facet[facet_of(topology.other[h])] == number;
    };
    out.borders.erase(std::remove_if(begin(), out.borders.end(), came_in), out.borders.end());
    std::sort(begin(), out.borders.end());
    patch.borders = static_cast<std::uint32_t>(out.borders.size()) - patch.first_border;
    patch.normal = (1 / length(sum)) * sum;
    patch.centroid = (1 / twice) * patch.centroid;
    patch.offset = dot(patch.normal, patch.centroid);
    patch.area_mm2 = twice / 2;
    out.patches.push_back(patch);
  }
}

/// Lists the facets of each patch, ascending.
void list_facets(Patches& out) {
  std::uint32_t first = 0;
  for (Patch& patch : out.patches) {
    patch.first_facet = first;
    first += patch.facets;
  }
  assign_large(out.facets, first, 0u);
  std::vector<std::uint32_t> next;
  for (const Patch& patch : out.patches) next.push_back(patch.first_facet);
  for (std::uint32_t f = 0; f < out.of_facet.size(); ++f)
    if (out.of_facet[f] != no_patch) out.facets[next[out.of_facet[f]]++] = f;
}

void link_patches(const Mesh& mesh, const Topology& topology, Patches& out) {
  struct Edge {
    std::uint32_t to;
    Vec3 vector;
  };
  std::vector<Edge> edges;
  for (std::uint32_t p = 0; p < out.patches.size(); ++p) {
    Patch& patch = out.patches[p];
    edges.clear();
    for (std::uint32_t i = patch.first_border; i < patch.first_border + patch.borders; ++i) {
      const std::uint32_t h = out.borders[i], across = topology.other[h];
      const std::uint32_t to = across == no_edge ? no_patch : out.of_facet[facet_of(across)];
      if (to == no_patch) continue;
      edges.push_back({to, mesh.vertices[end_of(mesh, h)] - mesh.vertices[start_of(mesh, h)]});
    }
    std::stable_sort(edges.begin(), edges.end(), [](const Edge& a, const Edge& b) { return a.to < b.to; });
    patch.first_link = static_cast<std::uint32_t>(out.links.size());
    for (std::size_t i = 0; i < edges.size();) {
      Link link;
      link.to = edges[i].to;
      Vec3 sum{};
      for (; i < edges.size() && edges[i].to == link.to; ++i) sum = sum + edges[i].vector;
      link.length_mm = length(sum);
      if (link.length_mm == 0) continue;
      link.along = (1 / link.length_mm) * sum;
      const Vec3 turn = cross(patch.normal, out.patches[link.to].normal);
      link.angle_rad = atan2_rad(length(turn), dot(patch.normal, out.patches[link.to].normal));
      link.convex = dot(turn, link.along) > 0;
      out.links.push_back(link);
    }
    patch.links = static_cast<std::uint32_t>(out.links.size()) - patch.first_link;
  }
}

}  // namespace

double face_tolerance_mm(const Box& box) {
  const double extent = std::max({std::fabs(box.low.x), std::fabs(box.low.y), std::fabs(box.low.z),
                                  std::fabs(box.high.x), std::fabs(box.high.y), std::fabs(box.high.z)});
  // Four steps of float32 at that size; small parts lie on a lattice that does not shrink with them.
  return std::max(extent * 4.8e-7, std::min(4.8e-5, extent * 4e-6));
}

Patches patches_of(const Mesh& mesh, const Topology& topology, const std::vector<Facing>& facings) {
  Patches out;
  out.tolerance_mm = face_tolerance_mm(bounding_box(mesh));
  grow_patches(mesh, topology, facings, out);
  list_facets(out);
  link_patches(mesh, topology, out);
  return out;
}

}  // namespace bedwright
