// The set as one page for a browser: everything that a person needs who has nothing else, without a network.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "output/report.h"

namespace bedwright {

inline constexpr const char* page_name = "report.html";

/// A part of the page: what the report says of it, and the bytes of its STL, which the page can write again.
struct PagePart {
  const PartReport* report = nullptr;
  const std::string* stl = nullptr;
};

/// HTML in one file: style, scripts and data inside, a policy that allows nothing from elsewhere. Text of the kit is
/// data to the scripts, never markup. Same input, same bytes. Throws BadInput for bytes that are no STL.
std::string page_html(const Kit& kit, const Report& report, const std::vector<PagePart>& parts);

/// The data alone, as the page holds it: the report's document, the machine's bodies, meshes, plans, gaps, heights.
Json page_data(const Kit& kit, const Report& report, const std::vector<PagePart>& parts);

/// A JSON document as text that can stand in a script element of any HTML page: `<`, `>`, `&`, U+2028 and U+2029 as
/// escapes; broken UTF-8 replaced.
std::string script_safe(const Json& document);

/// Standard base64 (RFC 4648), padded.
std::string base64(std::string_view bytes);

}  // namespace bedwright
