// A tree of boxes over facets: near pairs, nearest facet, and rays. Private to the gauge. Deterministic.
#pragma once

#include <cstdint>
#include <vector>

#include "base/mesh.h"

namespace bedwright {

class FacetTree {
 public:
  FacetTree(const Mesh& mesh, std::vector<std::uint32_t> facets);
  explicit FacetTree(const Mesh& mesh);

  /// Calls visit(f, g) once for every two facets whose boxes overlap or touch, until it returns false.
  template <typename Visit>
  void for_each_close_pair(Visit visit) const {
    if (nodes_.empty()) return;
    std::vector<std::pair<std::uint32_t, std::uint32_t>> stack{{0, 0}};
    while (!stack.empty()) {
      const auto [i, k] = stack.back();
      stack.pop_back();
      const Node &a = nodes_[i], &b = nodes_[k];
      if (!overlap(a.low, a.high, b.low, b.high)) continue;
      if (a.count > 0 && b.count > 0) {
        for (std::uint32_t p = a.first; p < a.first + a.count; ++p)
          for (std::uint32_t q = i == k ? p + 1 : b.first; q < b.first + b.count; ++q)
            if (overlap(boxes_[p].low, boxes_[p].high, boxes_[q].low, boxes_[q].high) && !visit(facets_[p], facets_[q]))
              return;
      } else if (i == k) {
        stack.push_back({a.left, a.left});
        stack.push_back({a.left, a.left + 1});
        stack.push_back({a.left + 1, a.left + 1});
      } else if (b.count > 0 || (a.count == 0 && a.weight >= b.weight)) {
        stack.push_back({a.left, k});
        stack.push_back({a.left + 1, k});
      } else {
        stack.push_back({i, b.left});
        stack.push_back({i, b.left + 1});
      }
    }
  }

  /// Distance from p to the nearest facet, or `within` if none is nearer than that. `facet` (may be null) names it.
  double distance(Vec3 p, double within, std::uint32_t* facet = nullptr) const;
  /// Facets whose projection on XY holds p (borders included), with the height there, highest first.
  struct Hit {
    double z;
    std::uint32_t facet;
  };
  std::vector<Hit> along_z(Vec2 p) const;

 private:
  struct FloatBox {
    float low[3], high[3];
  };
  struct Node {
    float low[3], high[3];
    std::uint32_t left = 0;              ///< inner nodes: the left child; the right one follows it
    std::uint32_t first = 0, count = 0;  ///< leaves: which facets
    std::uint32_t weight = 0;
  };
  static bool overlap(const float* al, const float* ah, const float* bl, const float* bh) {
    return al[0] <= bh[0] && bl[0] <= ah[0] && al[1] <= bh[1] && bl[1] <= ah[1] && al[2] <= bh[2] && bl[2] <= ah[2];
  }
  void build(std::uint32_t node, std::uint32_t first, std::uint32_t count);

  const Mesh& mesh_;
  std::vector<std::uint32_t> facets_;
  std::vector<FloatBox> boxes_;  ///< in the order of facets_
  std::vector<Node> nodes_;
};

/// Distance from p to the facet (its inside, edges and corners).
double distance_to_facet(Vec3 p, Vec3 a, Vec3 b, Vec3 c);

}  // namespace bedwright
