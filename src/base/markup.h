// Text into XML, SVG or HTML.
#pragma once

#include <string>

namespace bedwright {

/// The five characters that markup reserves as entities; control characters, which XML forbids, are left out but for
/// line ends and tabs. Good for text and for quoted attribute values.
std::string escaped_markup(const std::string& text);

}  // namespace bedwright
