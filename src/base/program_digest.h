// What the program was built from, so that files of another state of it are told from its own.
#pragma once

#include <string_view>

namespace bedwright {

/// SHA-256 over the library's sources, schemas and tables in the order of their names; the same whatever the compiler.
std::string_view program_digest();

}  // namespace bedwright
