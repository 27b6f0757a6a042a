// Mesh files in, as triangle soups or indexed meshes. Bounded: a file that claims more than it holds is refused.
#pragma once

#include <string>

#include "base/mesh.h"

namespace bedwright {

/// STL, binary or ASCII (told apart by size and content, never by the first word alone).
/// Throws FileError (cannot read) or BadInput (not an STL, cut short, non-finite numbers; says which facet).
Mesh read_stl_file(const std::string& path);
Mesh read_stl(const std::string& bytes, const std::string& source);

}  // namespace bedwright
