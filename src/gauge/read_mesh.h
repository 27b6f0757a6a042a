// Mesh files in, as triangle soups or indexed meshes. Bounded: a file that claims more than it holds is refused.
#pragma once

#include <string>
#include <vector>

#include "base/mesh.h"
#include "base/tasks.h"

namespace bedwright {

/// STL, binary or ASCII (told apart by size and content, never by the first word alone). Some corners at one place are
/// one vertex, where that saves time; the gauge's `welded` joins them all.
/// Throws FileError (cannot read) or BadInput (not an STL, cut short, non-finite numbers; says which facet).
/// A large file is read in shares, which may be done at once: the same mesh whether they are or not.
Mesh read_stl_file(const std::string& path, const AtOnce& at_once = one_by_one);
Mesh read_stl(const std::string& bytes, const std::string& source);

/// One thing that a file wants made, where it wants it.
struct MeshItem {
  std::string name, part_number;  ///< as the file has them; empty for an STL
  Mesh mesh;                      ///< millimetres, the file's frame
};

/// The build items of a 3MF package (core specification 1.4; other namespaces are passed over unless the file says
/// that it cannot be understood without them). Supports are left out; a mirroring transform keeps the outside outside.
/// Throws BadInput naming the rule that is broken; also for packages made to harm (base/unzip.h), markup nested too
/// deep, and components that multiply to more than `most_items_facets`.
std::vector<MeshItem> read_3mf(const std::string& bytes, const std::string& source);
inline constexpr std::size_t most_items_facets = 20'000'000;

/// STL or 3MF, told apart by content.
std::vector<MeshItem> read_mesh_file(const std::string& path, const AtOnce& at_once = one_by_one);

}  // namespace bedwright
