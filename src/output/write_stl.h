// Binary STL bytes of a mesh. The header names kit, part and revision and never begins with the ASCII keyword.
#pragma once

#include <string>

#include "base/mesh.h"

namespace bedwright {

/// Facet normals from the float32 coordinates; attribute bytes zero. Throws Error if a coordinate is not exact in
/// float32.
/// `mating_code` follows in the header where there is room; empty: none.
std::string to_stl(const Mesh& mesh, const std::string& kit, const std::string& part, const std::string& revision,
                   const std::string& mating_code = "");

}  // namespace bedwright
