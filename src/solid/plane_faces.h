// A mesh whose facets are known to lie in common planes, divided anew with as few facets as its corners allow.
// Private to the room.
#pragma once

#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

#include "base/lattice.h"
#include "base/mesh.h"

namespace bedwright {

/// A closed mesh, and which of its neighbouring facets lie in one plane.
struct FacedMesh {
  Mesh mesh;
  std::vector<std::pair<std::uint32_t, std::uint32_t>> flat;  ///< facets
};

/// A plane face: its borders, counter-clockwise seen from outside, and where outside is.
struct PlaneFace {
  std::vector<std::vector<std::uint32_t>> rings;
  Vec3 normal{};  ///< of any length
};

/// A body as its plane faces: each border runs from corner to corner, where three faces or more meet.
struct PlaneFaces {
  std::vector<Vec3> points;
  std::vector<PlaneFace> faces;
};

PlaneFaces faces_of(const FacedMesh& faced);

/// Faces divided into facets. Those of one face do not cross each other: seen along it they lie beside each other.
struct Divided {
  Mesh mesh;
  std::vector<std::uint32_t> face;  ///< per facet
  std::uint32_t faces = 0;          ///< how many
};

/// Each face's facets, between its corners; corners nearer than `least_height` to each other become one. Where a
/// facet would be flatter than that, the border opposite its short side gets corners of its own, on the lattice; what
/// is flat even so is turned into its neighbour. Same faces, same mesh: the order of what comes in does not matter.
/// Throws CannotBuild where a face's border crosses itself by that.
Divided divided_anew(PlaneFaces faces, double least_height, Lattice lattice);

/// The first two facets, lower number first, that meet in more than what they share, if there are any. Exact.
std::optional<std::pair<std::uint32_t, std::uint32_t>> first_crossing(const Divided& divided);

}  // namespace bedwright
