// Whether two solids stand in each other, and how far. Exact predicates on the facets as they are; in go closed,
// outward meshes in one frame, millimetres.
#pragma once

#include <optional>

#include "base/mesh.h"

namespace bedwright {

/// What two solids have in common.
struct Overlap {
  Box box{};
  double volume_mm3 = 0;
  /// Least side of the box: moving one solid that far along that axis parts them.
  double depth_mm() const;
};

/// Whether facets of one cross or touch the other's, or one lies inside the other.
bool meets(const Mesh& a, const Mesh& b);

/// Nothing where they do not meet, or meet in less than `touch_mm` of depth (contact). Where the common part cannot be
/// built (a mesh that crosses itself), the box in which facets meet, without a volume.
std::optional<Overlap> overlap(const Mesh& a, const Mesh& b, double touch_mm);

/// Closed meshes of simple bodies.
Mesh box_mesh(const Box& box);
/// A regular prism inscribed in the cylinder, axis along Z.
Mesh cylinder_mesh(Vec2 axis, double radius, double low_z, double high_z, int sides);

}  // namespace bedwright
