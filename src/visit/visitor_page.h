// A published kit as one page that makes a stranger's own parts: the set as report.html shows it, the kit, and the
// library itself for browsers, all in one file that asks for nothing.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "output/page.h"

namespace bedwright {

struct VisitorPageSource {
  std::string kit_text;                       ///< as its owner wrote it
  std::map<std::string, std::string> beside;  ///< the files that the kit names, by those names
  /// What the program carries for the page: src/browser's files, core.js, core.wasm.packed, three.min.js.packed.
  std::function<std::string_view(std::string_view)> file;
};

/// Whether the program was built with the core for browsers.
bool has_browser_core(const VisitorPageSource& source);

/// HTML in one file. Same input, same bytes. Throws Error where the program lacks a piece.
std::string visitor_page_html(const Kit& kit, const Report& report, const std::vector<PagePart>& parts,
                              const VisitorPageSource& source);

}  // namespace bedwright
