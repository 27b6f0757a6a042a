// The files that a kit names: beside it in its folder, or with it in a bundle.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "base/error.h"
#include "kit/kit.h"

namespace bedwright {

struct Beside {
  std::string folder;                        ///< where files are looked for, links followed only within it
  bool in_memory = false;                    ///< a bundle: `files` has all there are, no folder is looked into
  std::map<std::string, std::string> files;  ///< by name, from the kit's place on
};

inline constexpr std::size_t largest_licence_bytes = std::size_t(256) << 10;
inline constexpr std::size_t largest_map_bytes = std::size_t(256) << 10;

/// Whether a name is absolute, climbs, is written as another system writes paths, or follows a link out of the folder.
bool leads_away(const Beside& beside, const std::string& name);

/// A file's bytes. Adds a problem at `pointer` where there is no such file, where it is no plain file or over the
/// limit; throws FileError where it cannot be read.
std::string bytes_beside(const Beside& beside, const std::string& name, std::size_t most_bytes,
                         const std::string& pointer, const std::string& hint, std::vector<Problem>& problems);

/// The text of the licence file; empty where the kit names none. Adds a problem for one that is no UTF-8 text.
std::string licence_text(const Beside& beside, const Json& document, std::vector<Problem>& problems);

/// The files of bed_map.files, in its order. Adds a problem for each that is not there or is no UTF-8 text.
std::vector<NamedText> bed_map_texts(const Beside& beside, const Json& document, std::vector<Problem>& problems);

}  // namespace bedwright
