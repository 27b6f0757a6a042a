// What `layout` prints.
#pragma once

#include <string>
#include <vector>

#include "kit/kit.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

Json layout_document(const Kit& kit, const Layout& layout, const std::vector<Part>& parts);
std::string layout_text(const Kit& kit, const Layout& layout, const std::vector<Part>& parts);

}  // namespace bedwright
