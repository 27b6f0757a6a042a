// Features along X and Y, cut from a body built along Z. Private to the room.
//
// The cutters of one direction are built as levels of their own (levels.h), so that a hole and its counterbore are one
// body already. They are taken from the body as shapes (shape.h) where that can be told, else by the library's exact
// boolean (library_cut.h). Either way the plane faces that are left are divided anew, so that no trace of the cutting
// is left in them; corners are rounded to the lattice; corners nearer than the gate to each other become one, and a
// corner nearer than that to an edge is taken into it. So no face lies farther from its true place than
// least_height_mm, besides its facets' chord.
#pragma once

#include <optional>
#include <vector>

#include "base/lattice.h"
#include "base/mesh.h"
#include "parts/part.h"

namespace bedwright {

/// The body without the part's crossing features. Throws CannotBuild naming those at the place where no valid solid is
/// left: features-nearly-touch, falls-apart, crossing-adds.
Mesh without_crossing(const Part& part, const Mesh& body, Lattice lattice);

}  // namespace bedwright
