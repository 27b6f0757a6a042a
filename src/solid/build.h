// Features to a closed mesh. The only room that includes CGAL; in and out go plain values.
// Method: loops on the lattice; the plane divided into faces, each with a column of material; caps, and walls. Features
// that cross Z are cut from that by one exact boolean (crossing.h).
#pragma once

#include "base/mesh.h"
#include "parts/part.h"

namespace bedwright {

/// Least triangle height a built mesh may have: the smaller of chord_mm and this.
inline constexpr double least_height_mm = 0.01;
inline constexpr std::size_t largest_part_triangles = 2'000'000;

/// Builds the part in its part frame: closed, oriented outward, every coordinate on the lattice, facets within
/// part.chord_mm of the true faces (holes outside, bosses and outlines inside, seats either side).
/// Throws CannotBuild with the features' names where features nearly touch, cross in a way that leaves no valid
/// solid, fall apart into pieces, or would pass the facet limit.
Mesh build_solid(const Part& part);

}  // namespace bedwright
