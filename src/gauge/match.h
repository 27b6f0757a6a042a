// How a measured mesh lies against the solid it should be. Private to the gauge.
#pragma once

#include <vector>

#include "gauge/facet_tree.h"
#include "gauge/gauge.h"

namespace bedwright {

struct Motion {
  Transform file_to_target;  ///< rigid; determinant -1 where the file is a mirror image
  bool mirrored = false;
  double share = 0;         ///< of sampled surface points (both ways) that lie within `near_mm` of the other mesh
  double deviation_mm = 0;  ///< largest distance of a vertex or facet middle of one from the other, both ways (capped)
};

inline constexpr double near_mm = 0.02;         ///< two tessellations of one part agree within about a chord
inline constexpr double same_facets_mm = 0.002;  ///< the very facets, moved and rounded to float32
inline constexpr double deviation_cap_mm = 1000;

/// A mesh with what the search needs of it.
class MeasuredBody {
 public:
  MeasuredBody(const Mesh& mesh, const std::vector<MeasuredFeature>& features);
  const Mesh& mesh() const { return mesh_; }
  const FacetTree& tree() const { return tree_; }
  const std::vector<MeasuredFeature>& features() const { return features_; }
  const Box& box() const { return box_; }
  Vec3 area_centre() const { return centre_; }
  double area_mm2() const { return area_; }
  /// At most `count` points: a quarter vertices, the rest even by area.
  std::vector<Vec3> samples(std::size_t count) const;

 private:
  const Mesh& mesh_;
  const std::vector<MeasuredFeature>& features_;
  FacetTree tree_;
  Box box_;
  Vec3 centre_{};
  double area_ = 0;
};

/// Share and deviation of one motion; the deviation only if the share is nearly whole (else deviation_cap_mm).
Motion judged(const MeasuredBody& file, const MeasuredBody& target, const Transform& file_to_target);

/// Promising motions, best first; never empty. Tries as is, the box turned all 24 ways, any turn by pairs of holes and
/// by far corners, each also mirrored.
std::vector<Motion> motions(const MeasuredBody& file, const MeasuredBody& target);

}  // namespace bedwright
