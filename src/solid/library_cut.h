// The exact booleans of the library: what one body leaves of another, and what two have in common. Private to the room.
#pragma once

#include <optional>

#include "base/lattice.h"
#include "base/mesh.h"
#include "solid/plane_faces.h"

namespace bedwright {

/// The body without two cutters, either of them perhaps empty, which may stand in each other: united first, and nothing
/// is rounded in between. Its plane faces are found exactly, so that no trace of the cutting is left in them, and its
/// corners rounded to the lattice. No value where the library cannot build it.
std::optional<PlaneFaces> library_cut(const Mesh& body, const Mesh& cutter, const Mesh& other_cutter, Lattice lattice);

/// What two bodies have in common, exact but for the last rounding to double: empty where that is nothing. No value
/// where it cannot be built (a mesh that crosses itself).
std::optional<Mesh> common_body(const Mesh& a, const Mesh& b);

}  // namespace bedwright
