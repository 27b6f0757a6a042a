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

/// Whose machine a page is read beside: the kit's own, or another one that the kit's bed maps say nothing of.
enum class PageReader { owner, visitor };

/// The data alone, as the page holds it: the report's document, the machine's bodies, meshes, plans, gaps, heights, and
/// for its owner what the kit says of bed maps.
Json page_data(const Kit& kit, const Report& report, const std::vector<PagePart>& parts,
               PageReader reader = PageReader::owner);

/// What draws a set, as statements that see `document`: src/page's scripts in the order they are run in.
std::string page_scripts();
/// A file of src/page, or three.min.js. Throws Error for one that the program lacks.
std::string_view needed_page_file(const char* name);
/// How a page's policy names the one script or style that it lets in (CSP level 2).
std::string source_hash(std::string_view text);
/// Stands before three.js wherever it is written.
inline constexpr const char* three_notice =
    "<!-- three.js, version 111: Copyright 2010-2019 three.js authors, MIT licence -->\n";

/// A JSON document as text that can stand in a script element of any HTML page: `<`, `>`, `&`, U+2028 and U+2029 as
/// escapes; broken UTF-8 replaced.
std::string script_safe(const Json& document);

/// Standard base64 (RFC 4648), padded.
std::string base64(std::string_view bytes);

}  // namespace bedwright
