// Whether two facets of a mesh pass through each other. Exact.
#pragma once

#include <cstdint>

#include "base/mesh.h"

namespace bedwright {

/// Whether two facets (by number) meet in more than the vertices or the edge they share: they cross, touch at a point
/// that is no common vertex, or overlap in one plane. Flat ones that share a corner and touch along a ray from it do
/// not.
bool facets_cross(const Mesh& mesh, std::uint32_t f, std::uint32_t g);

}  // namespace bedwright
