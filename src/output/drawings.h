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

/// drawings/ID.svg of each part, and drawings.pdf with all sheets in the parts' order.
std::map<std::string, std::string> drawing_files(const Report& report, const std::vector<MadePart>& parts);

/// preview.png, of one part or more.
std::string preview_file(const Kit& kit, const Report& report, const std::vector<MadePart>& parts);

}  // namespace bedwright
