// Text files built into the program (schemas, hardware tables), by file name without folder.
#pragma once

#include <string_view>

namespace bedwright {

/// The file's bytes, or an empty view for an unknown name.
std::string_view embedded_file(std::string_view name);

}  // namespace bedwright
