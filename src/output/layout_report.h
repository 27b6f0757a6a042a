// What `layout` prints.
#pragma once

#include <string>
#include <vector>

#include "kit/kit.h"
#include "layout/layout.h"
#include "mechanics/machine_answers.h"
#include "parts/part.h"

namespace bedwright {

Json layout_document(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
                     const MachineAnswers& answers);
std::string layout_text(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
                        const MachineAnswers& answers);

}  // namespace bedwright
