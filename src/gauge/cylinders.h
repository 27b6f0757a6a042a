// Round walls among planar patches. Private to the gauge.
#pragma once

#include <vector>

#include "gauge/patches.h"

namespace bedwright {

struct Cylinder {
  Vec3 axis{};               ///< unit
  Vec3 point{};              ///< on the axis
  double vertex_radius = 0;  ///< of the circle through the facets' edges
  bool concave = false;      ///< material outside (a hole)
  double coverage_rad = 0;   ///< how much of the turn has wall
  double low = 0, high = 0;  ///< along the axis, from the origin's foot
  std::vector<std::uint32_t> patches;
  bool full = false;  ///< all round, at least eight facets
};

/// Chains of at least three patches that share parallel edges on one circle. `taken` says which patches were used.
std::vector<Cylinder> find_cylinders(const Mesh& mesh, const Patches& patches, std::vector<std::uint8_t>& taken);

/// The direction or its opposite: the one whose largest component is positive.
Vec3 upward(Vec3 d);

/// Two unit vectors across the axis; with it they are right-handed.
struct AxisFrame {
  Vec3 u, v, axis;
  explicit AxisFrame(Vec3 unit_axis);
  Vec2 flat(Vec3 p) const { return {dot(u, p), dot(v, p)}; }
  Vec3 space(Vec2 p, double along) const { return p.x * u + p.y * v + along * axis; }
};

}  // namespace bedwright
