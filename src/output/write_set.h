// Writes a whole set of files as one step: a new folder beside the old one, flushed, exchanged with it.
#pragma once

#include <map>
#include <string>

namespace bedwright {

/// Files by relative path ("stl/adapter-a.stl") to bytes. `folder` may be absent, empty, or hold just the files that
/// its own report.json names (one that breaks off after its list of files names those); otherwise FileError and
/// nothing touched. A killed run leaves the old set or the new set. Throws FileError.
void write_set(const std::string& folder, const std::map<std::string, std::string>& files);

/// One file, written aside and renamed. Throws FileError.
void write_file(const std::string& path, const std::string& bytes);
/// Throws FileError; `most_bytes` guards memory.
std::string read_file(const std::string& path, std::size_t most_bytes);

}  // namespace bedwright
