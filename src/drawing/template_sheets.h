// A paper template at 1:1: the frame's holes, the plates' outlines and the rails' lines, to drill by and to hold
// against the frame. Twice: as seen from above, and mirrored, as seen from below. Each sheet carries bars of 100 mm in
// both directions, because printers scale pages without saying so.
#pragma once

#include <vector>

#include "drawing/page.h"
#include "kit/kit.h"
#include "layout/layout.h"

namespace bedwright {

inline constexpr double check_bar_mm = 100;
inline constexpr double template_overlap_mm = 10;  ///< of neighbouring sheets

struct TemplateSheets {
  Page whole;               ///< one sheet as large as it takes
  std::vector<Page> tiles;  ///< the same on sheets of A4, upright or lying, whichever takes fewer; rows from the top
};

/// 1 mm of paper is 1 mm of the machine in plan. `from_below` mirrors left and right: the front stays below.
TemplateSheets template_sheets(const Kit& kit, const Layout& layout, bool from_below);

/// Both, side by side on one page, for a plotter.
Page template_page(const Kit& kit, const Layout& layout);

}  // namespace bedwright
