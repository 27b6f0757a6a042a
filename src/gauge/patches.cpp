#include "gauge/patches.h"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "base/large_pages.h"
#include "base/trig.h"

namespace bedwright {
namespace {

/// Facets by size, largest first, those of one size by number: in classes of nearly one size, of which each is put in
/// order when its turn comes. Most facets belong to a patch by then.
class SeedOrder {
 public:
  explicit SeedOrder(const std::vector<Facing>& facings) : facings_(facings), first_(classes + 1, 0) {
    for (const Facing& facing : facings) ++first_[class_of(facing.twice_area) + 1];
    for (std::size_t c = 0; c < classes; ++c) first_[c + 1] += first_[c];
    assign_large(facets_, facings.size(), 0u);
    std::vector<std::uint32_t> next(first_.begin(), first_.end() - 1);
    for (std::uint32_t f = 0; f < facings.size(); ++f) facets_[next[class_of(facings[f].twice_area)]++] = f;
  }

  /// The next facet with a size and without a patch, or no_edge.
  std::uint32_t next(const std::vector<std::uint32_t>& patch_of_facet) {
    for (;;) {
      while (at_ < seeds_.size()) {
        const std::uint32_t f = seeds_[at_++];
        if (patch_of_facet[f] == no_patch) return f;
      }
      if (class_ == classes) return no_edge;
      seeds_.clear();
      at_ = 0;
      for (std::uint32_t i = first_[class_]; i < first_[class_ + 1]; ++i)
        if (patch_of_facet[facets_[i]] == no_patch && size_of(facets_[i]) != 0) seeds_.push_back(facets_[i]);
      std::sort(seeds_.begin(), seeds_.end(), [this](std::uint32_t a, std::uint32_t b) {
        return size_of(a) != size_of(b) ? size_of(a) > size_of(b) : a < b;
      });
      ++class_;
    }
  }

 private:
  static constexpr std::size_t classes = 1 << 13;

  /// Of positive doubles the leading bits rise with the value: four classes an octave.
  static std::size_t class_of(double size) {
    std::uint64_t bits;
    std::memcpy(&bits, &size, sizeof bits);
    return classes - 1 - static_cast<std::size_t>(bits >> 50);
  }

  double size_of(std::uint32_t f) const { return facings_[f].twice_area; }

  const std::vector<Facing>& facings_;
  std::vector<std::uint32_t> first_, facets_, seeds_;
  std::size_t class_ = 0, at_ = 0;
};

void grow_patches(const Mesh& mesh, const Topology& topology, const std::vector<Facing>& facings, Patches& out) {
  assign_large(out.of_facet, mesh.triangles.size(), no_patch);
  SeedOrder order(facings);
  std::vector<std::uint32_t> stack;
  for (std::uint32_t seed; (seed = order.next(out.of_facet)) != no_edge;) {
    const auto number = static_cast<std::uint32_t>(out.patches.size());
    const Vec3 normal = (1 / facings[seed].twice_area) * facings[seed].vector;
    const Vec3 origin = mesh.vertices[mesh.triangles[seed][0]];
    Patch patch;
    out.of_facet[seed] = number;
    stack.assign(1, seed);
    Vec3 sum{};
    double twice = 0;
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
        if (across == no_edge) continue;
        const std::uint32_t g = facet_of(across);
        const Facing& facing = facings[g];
        if (out.of_facet[g] != no_patch || facing.twice_area == 0) continue;
        if (dot(facing.vector, normal) < 0.9 * facing.twice_area) continue;
        const Vec3 tip = mesh.vertices[mesh.triangles[g][(across % 3 + 2) % 3]];
        if (std::fabs(dot(tip - origin, normal)) > out.tolerance_mm) continue;
        out.of_facet[g] = number;
        stack.push_back(g);
      }
    }
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

Patches patches_of(const Mesh& mesh, const Topology& topology, const std::vector<Facing>& facings) {
  Patches out;
  out.tolerance_mm = face_tolerance_mm(bounding_box(mesh));
  grow_patches(mesh, topology, facings, out);
  list_facets(out);
  link_patches(mesh, topology, out);
  return out;
}

}  // namespace bedwright
