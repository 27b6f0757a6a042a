// The workshop drawings of a set, and its picture.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "output/make_set.h"

namespace bedwright {

inline constexpr const char *drawings_pdf_name = "drawings.pdf", *preview_name = "preview.png";

/// "drawings/ID.svg"
std::string drawing_name(const std::string& part);

/// drawings/ID.svg of each part, drawings.pdf with all sheets in the parts' order, and preview.png.
std::map<std::string, std::string> drawing_files(const Kit& kit, const Report& report, const std::vector<MadePart>& parts);

}  // namespace bedwright
