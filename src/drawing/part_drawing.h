// The workshop drawing of one part: views from the solid, dimensions from its features.
// Source: ISO 128 (lines, views, sections), ISO 129-1 (dimensions), ISO 5456-2 (angles).
#pragma once

#include <string>
#include <vector>

#include "base/mesh.h"
#include "drawing/page.h"
#include "drawing/sheet.h"
#include "gauge/compare.h"
#include "parts/part.h"

namespace bedwright {

struct DrawnPart {
  const Part* part = nullptr;
  const Mesh* solid = nullptr;                               ///< part frame
  const std::vector<MeasuredDimension>* measured = nullptr;  ///< for the small table; may be null
};

/// Common practice, no source: below it the narrow walls of a printed part run together.
inline constexpr double least_scale_on_a4 = 0.5;

/// Three views (front, from above, and from the left or, in third angle, from the right) and one stepped section
/// through the most telling holes, on the largest scale that fits. `title` is filled in but for scale. Where A4 would
/// need a scale smaller than least_scale_on_a4 and A3 allows a larger one, the sheet is A3.
Page part_drawing(const DrawnPart& drawn, const TitleBlock& title, const SheetSize& size);

}  // namespace bedwright
