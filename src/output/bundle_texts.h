// The pages of a bundle that people read: Markdown, plain enough for any editor.
#pragma once

#include <string>

#include "output/report.h"

namespace bedwright {

std::string bundle_readme(const Kit& kit, const Report& report);
/// The order of work, each step with its parts, screws, tightness, what to feel, and the cautions that hold there.
std::string assembly_page(const Report& report);
/// Layer, walls, infill, material, pose, support and brim of each part.
std::string printing_page(const Kit& kit, const Report& report);
std::string print_settings_csv(const Kit& kit, const Report& report);
/// What to do once it runs, with boxes to tick.
std::string run_in_card(const Report& report);
std::string cautions_page(const Report& report);
/// What was checked in the files, and what was tried on a machine; UNTESTED stands on what was not.
std::string tested_page(const Kit& kit, const Report& report);
std::string changes_page(const Kit& kit);
/// Which picture goes where, and what it must show. `have`: "travel" and so on.
std::string pictures_page(const Kit& kit, const std::vector<std::string>& have);

}  // namespace bedwright
