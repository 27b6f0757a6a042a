// A tree of boxes over facets: nearest facet, and rays. Private to the gauge. Deterministic.
#pragma once

#include <cstdint>
#include <vector>

#include "base/float_box.h"
#include "base/mesh.h"

namespace bedwright {

class FacetTree {
 public:
  FacetTree(const Mesh& mesh, std::vector<std::uint32_t> facets);
  explicit FacetTree(const Mesh& mesh);

  /// Distance from p to the nearest facet, or `within` if none is nearer than that. `facet` (may be null) names it.
  double distance(Vec3 p, double within, std::uint32_t* facet = nullptr) const;
  /// Facets whose projection on XY holds p (borders included), with the height there, highest first.
  struct Hit {
    double z;
    std::uint32_t facet;
  };
  std::vector<Hit> along_z(Vec2 p) const;

 private:
  struct Node {
    FloatBox box;
    std::uint32_t left = 0;              ///< inner nodes: the left child; the right one follows it
    std::uint32_t first = 0, count = 0;  ///< leaves: which facets
  };
  void build(std::uint32_t node, std::uint32_t first, std::uint32_t count);

  const Mesh& mesh_;
  std::vector<std::uint32_t> facets_;
  std::vector<FloatBox> boxes_;  ///< in the order of facets_
  std::vector<Node> nodes_;
};

/// Distance from p to the facet (its inside, edges and corners).
double distance_to_facet(Vec3 p, Vec3 a, Vec3 b, Vec3 c);

}  // namespace bedwright
