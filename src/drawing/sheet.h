// The paper round a drawing: frame (ISO 5457), title block (ISO 7200's fields), projection symbol (ISO 5456-2), scales
// (ISO 5455).
#pragma once

#include <string>
#include <vector>

#include "drawing/page.h"

namespace bedwright {

/// A4 stands upright, A3 lies on its long side; the left margin is for filing.
struct SheetSize {
  const char* name;
  double width_mm, height_mm;
};
inline constexpr SheetSize sheet_a4{"A4", 210, 297}, sheet_a3{"A3", 420, 297};
inline constexpr double filing_margin_mm = 20, margin_mm = 10;
inline constexpr double title_width_mm = 180, title_height_mm = 36;

/// Paper to model: 2 is 2:1, 0.5 is 1:2. The scales that ISO 5455 recommends, as far as workshop parts need them.
inline constexpr double drawing_scales[] = {10, 5, 2, 1, 0.5, 0.2, 0.1};
std::string scale_text(double scale);

struct TitleBlock {
  std::string kit, revision, title, part, what;  ///< what: family, hand, pieces
  std::string material, scale, general;          ///< general: class of ISO 2768-1
  std::string date;                              ///< empty: none
  bool third_angle = false;
  int sheet = 1, sheets = 1;
};

/// An empty sheet with frame and title block; what is written is shortened to its field.
Page framed_sheet(const SheetSize& size, const TitleBlock& title);

/// The truncated cone in two views, centred at `at`; 18 by 8 mm.
void projection_symbol(Page& page, Vec2 at, bool third_angle);

/// As much of the text as fits, with "..." where it was cut.
std::string shortened(const std::string& text, double cap_mm, double width_mm);

}  // namespace bedwright
