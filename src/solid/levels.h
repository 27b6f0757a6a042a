// The construction along Z (build.h) for whoever needs more of it than a part's own solid. Private to the room.
#pragma once

#include "base/lattice.h"
#include "base/mesh.h"
#include "parts/part.h"

namespace bedwright {

/// The lattice that a part's features along Z are built on.
Lattice lattice_of(const Part& part);

/// As build_solid, of features along Z alone, on that lattice. Several pieces are refused only where `one_piece`.
Mesh levels_solid(const Part& part, Lattice lattice, bool one_piece);

}  // namespace bedwright
