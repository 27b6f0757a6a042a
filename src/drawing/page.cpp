#include "drawing/page.h"

#include <algorithm>
#include <array>

namespace bedwright {
namespace {

// Helvetica's capitals are 718 of 1000 units high, its descenders 207 deep (Adobe Core 14 font metrics).
constexpr double cap_units = 718, descent_units = 207, other_units = 600;

constexpr std::array<int, 95> widths = {278,  278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
                                        556,  556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
                                        1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
                                        667,  778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
                                        333,  556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
                                        556,  556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584};

double units_of(char32_t c) {
  if (c >= 32 && c < 127) return widths[c - 32];
  switch (c) {
    case 0xd7:  // multiplication sign
    case 0xb1:  // plus-minus
      return 584;
    case 0xb0:  // degree
      return 400;
    case 0xd8:    // O with stroke
    case 0x2300:  // diameter; what stands in for it
      return 778;
    default:
      return other_units;
  }
}

// Tangent of half of 15 degrees: ISO 129-1's closed arrowhead.
constexpr double half_arrow = 0.1317;

}  // namespace

const PenStyle& pen_style(Pen pen) {
  // Dashes in line widths d (ISO 128-2): dashed 12 d and 3 d; long-dashed dotted 24 d, 3 d, 0.5 d, 3 d.
  static const std::array<PenStyle, pens> styles = {{{"visible", 0.5, {}},
                                                     {"hidden", 0.25, {3, 0.75}},
                                                     {"centre", 0.25, {6, 0.75, 0.125, 0.75}},
                                                     {"thin", 0.25, {}},
                                                     {"hatch", 0.25, {}},
                                                     {"cut-end", 0.5, {}},
                                                     {"frame", 0.7, {}}}};
  return styles[static_cast<std::size_t>(pen)];
}

void Page::arrow(Vec2 tip, Vec2 along, double size_mm) {
  const Vec2 across{-along.y, along.x}, back = tip - size_mm * along;
  fills.push_back({tip, back + half_arrow * size_mm * across, back - half_arrow * size_mm * across});
}

bool runs_through(Vec2 a, Vec2 b, const PaperBox& box) {
  // Liang and Barsky: the part of the segment inside all four half planes.
  double from = 0, to = 1;
  const Vec2 d = b - a;
  const std::array<std::array<double, 2>, 4> limits = {
      {{-d.x, a.x - box.low.x}, {d.x, box.high.x - a.x}, {-d.y, a.y - box.low.y}, {d.y, box.high.y - a.y}}};
  for (const auto& [p, q] : limits) {
    if (p == 0) {
      if (q <= 0) return false;
    } else if (p < 0) {
      from = std::max(from, q / p);
    } else {
      to = std::min(to, q / p);
    }
  }
  return from < to;
}

std::vector<char32_t> code_points(const std::string& utf8) {
  std::vector<char32_t> points;
  for (std::size_t i = 0; i < utf8.size();) {
    const auto first = static_cast<unsigned char>(utf8[i]);
    const std::size_t count = first < 0x80                    ? 1
                              : first >= 0xf0 && first < 0xf8 ? 4
                              : first >= 0xe0                 ? 3
                              : first >= 0xc0                 ? 2
                                                              : 0;
    bool whole = count > 0 && i + count <= utf8.size() && first < 0xf8;
    char32_t c = count == 1 ? first : first & (0x7fu >> count);
    for (std::size_t k = 1; whole && k < count; ++k) {
      const auto next = static_cast<unsigned char>(utf8[i + k]);
      whole = (next & 0xc0) == 0x80;
      c = c << 6 | (next & 0x3f);
    }
    points.push_back(whole ? c : 0xfffd);
    i += whole ? count : 1;
  }
  return points;
}

double words_width_mm(const std::string& text, double cap_mm) {
  double units = 0;
  for (const char32_t c : code_points(text)) units += units_of(c);
  return units / cap_units * cap_mm;
}

PaperBox box_of(const Words& w) {
  const double width = words_width_mm(w.text, w.cap_mm), below = descent_units / cap_units * w.cap_mm;
  const double start = w.align == Align::left ? 0 : w.align == Align::middle ? -width / 2 : -width;
  if (w.turned) return {{w.at.x - w.cap_mm, w.at.y + start}, {w.at.x + below, w.at.y + start + width}};
  return {{w.at.x + start, w.at.y - below}, {w.at.x + start + width, w.at.y + w.cap_mm}};
}

}  // namespace bedwright
