// Text files built into the program, by file name without folder.
#pragma once

#include <string_view>

namespace bedwright {

/// Schemas and hardware tables. The file's bytes, or an empty view for an unknown name.
std::string_view embedded_file(std::string_view name);
/// What report.html is put together from: src/page, and the distribution's three.min.js.
std::string_view page_file(std::string_view name);

}  // namespace bedwright
