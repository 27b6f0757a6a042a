// Text for a terminal.
#pragma once

#include <string>

namespace bedwright {

/// Words put into lines of at most 100 characters; continuation lines are indented. Ends with a line end.
std::string wrapped(const std::string& first, const std::string& text, std::size_t indent);

}  // namespace bedwright
