// An indexed triangle mesh: what goes between the rooms in place of any library's own type.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Triangles are counter-clockwise seen from outside. Millimetres, in the frame its owner says.
struct Mesh {
  std::vector<Vec3> vertices;
  std::vector<std::array<std::uint32_t, 3>> triangles;
};

struct Box {
  Vec3 low, high;
};

/// Box of all vertices; a null box for an empty mesh.
Box bounding_box(const Mesh& mesh);
/// Signed volume (mm3) and area (mm2); exact formulas over the facets, summed about the box's centre.
double volume(const Mesh& mesh);
double area(const Mesh& mesh);
/// Every vertex moved; a mirror (determinant -1) also turns each facet, so that outside stays outside.
Mesh transformed(const Mesh& mesh, const Transform& t);

}  // namespace bedwright
