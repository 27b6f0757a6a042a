// SHA256SUMS: a set's or a bundle's files, each with its SHA-256, as `sha256sum --check` reads it.
#pragma once

#include <map>
#include <string>

namespace bedwright {

inline constexpr const char* checksums_name = "SHA256SUMS";

/// A line a file, by name. The list itself is left out.
std::string checksums_of(const std::map<std::string, std::string>& files);

/// Digest by name. Throws BadInput naming `source`: a line of another form, a name that leads out of a folder or
/// stands twice, too many lines.
std::map<std::string, std::string> read_checksums(const std::string& text, const std::string& source);

}  // namespace bedwright
