// Letters and the arrow that a mark is cut or raised with: plain upright capitals drawn for printing, straight edges
// only. Drawn on a grid of 20 units a letter's height. At 3.5 mm height a stroke is 0.7 mm or more, a gap inside a
// letter and between letters 0.5 mm or more, an edge 0.3 mm or more. All of it scales with the height. Plane
// coordinates, millimetres: +X is the reading direction, +Y is up, the origin is the left end of the baseline.
#pragma once

#include <string>
#include <vector>

#include "base/loop.h"

namespace bedwright {

/// A-Z, a-z (shown as capitals), 0-9, space, and - . + / #
bool has_glyph(char c);

/// Outlines and counters of the text, to be filled even-odd; no two of them touch. Empty for blank text.
/// Throws Error naming a character that has no glyph, or for a height that is not a positive number.
std::vector<Loop> letter_loops(const std::string& text, double height_mm);

/// From the left edge of the first letter to the right edge of the last. Throws as letter_loops does.
double text_width_mm(const std::string& text, double height_mm);

/// A fat arrow that points to +Y, its box centred on the origin, 0.8 lengths wide. Its thinnest stroke, the shaft, is a
/// quarter of the length. Throws Error for a length that is not a positive number.
Loop arrow_loop(double length_mm);

}  // namespace bedwright
