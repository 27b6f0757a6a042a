#include "gauge/patches.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/large_pages.h"
#include "base/trig.h"

namespace bedwright {
namespace {

void grow_patches(const Mesh& mesh, const Topology& topology, const std::vector<Vec3>& area_vectors, Patches& out) {
  const std::size_t facets = mesh.triangles.size();
  std::vector<double> size;
  assign_large(size, facets, 0.0);
  for (std::size_t f = 0; f < facets; ++f) size[f] = length(area_vectors[f]);
  std::vector<std::uint32_t> order;
  assign_large(order, facets, 0u);
  std::iota(order.begin(), order.end(), 0u);
  std::sort(order.begin(), order.end(),
            [&](std::uint32_t a, std::uint32_t b) { return size[a] != size[b] ? size[a] > size[b] : a < b; });
  assign_large(out.of_facet, facets, no_patch);
  reserve_large(out.facets, facets);
  std::vector<std::uint32_t> stack;
  for (std::uint32_t seed : order) {
    if (out.of_facet[seed] != no_patch || size[seed] == 0) continue;
    const auto number = static_cast<std::uint32_t>(out.patches.size());
    const Vec3 normal = (1 / size[seed]) * area_vectors[seed];
    const Vec3 origin = mesh.vertices[mesh.triangles[seed][0]];
    Patch patch;
    patch.first_facet = static_cast<std::uint32_t>(out.facets.size());
    out.of_facet[seed] = number;
    stack.assign(1, seed);
    Vec3 sum{};
    double twice = 0;
    while (!stack.empty()) {
      const std::uint32_t f = stack.back();
      stack.pop_back();
      out.facets.push_back(f);
      sum = sum + area_vectors[f];
      const auto& t = mesh.triangles[f];
      const Vec3 middle = (1.0 / 3) * (mesh.vertices[t[0]] + mesh.vertices[t[1]] + mesh.vertices[t[2]]);
      patch.centroid = patch.centroid + size[f] * middle;
      twice += size[f];
      for (std::uint32_t k = 0; k < 3; ++k) {
        const std::uint32_t across = topology.other[3 * f + k];
        if (across == no_edge) continue;
        const std::uint32_t g = facet_of(across);
        if (out.of_facet[g] != no_patch || size[g] == 0) continue;
        if (dot(area_vectors[g], normal) < 0.9 * size[g]) continue;
        const Vec3 tip = mesh.vertices[mesh.triangles[g][(across % 3 + 2) % 3]];
        if (std::fabs(dot(tip - origin, normal)) > out.tolerance_mm) continue;
        out.of_facet[g] = number;
        stack.push_back(g);
      }
    }
    patch.facets = static_cast<std::uint32_t>(out.facets.size()) - patch.first_facet;
    patch.normal = (1 / length(sum)) * sum;
    patch.centroid = (1 / twice) * patch.centroid;
    patch.offset = dot(patch.normal, patch.centroid);
    patch.area_mm2 = twice / 2;
    std::sort(out.facets.begin() + patch.first_facet, out.facets.end());
    out.patches.push_back(patch);
  }
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
    for (std::uint32_t i = patch.first_facet; i < patch.first_facet + patch.facets; ++i)
      for (std::uint32_t k = 0; k < 3; ++k) {
        const std::uint32_t h = 3 * out.facets[i] + k, across = topology.other[h];
        if (across == no_edge) continue;
        const std::uint32_t to = out.of_facet[facet_of(across)];
        if (to == p || to == no_patch) continue;
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

Patches patches_of(const Mesh& mesh, const Topology& topology) {
  Patches out;
  out.tolerance_mm = face_tolerance_mm(bounding_box(mesh));
  std::vector<Vec3> area_vectors;
  assign_large(area_vectors, mesh.triangles.size(), Vec3{});
  for (std::size_t f = 0; f < mesh.triangles.size(); ++f) {
    const auto& t = mesh.triangles[f];
    const Vec3 a = mesh.vertices[t[0]];
    area_vectors[f] = cross(mesh.vertices[t[1]] - a, mesh.vertices[t[2]] - a);
  }
  grow_patches(mesh, topology, area_vectors, out);
  link_patches(mesh, topology, out);
  return out;
}

}  // namespace bedwright
