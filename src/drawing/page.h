// A drawing as plain primitives on one sheet of paper. Built once, then written as SVG or as a page of a PDF.
// Paper coordinates: millimetres, origin at the lower left corner, x right, y up.
#pragma once

#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Line kinds as ISO 128-2:2020 has them; pen_style gives their width and dashes.
enum class Pen {
  visible,  ///< 01.2 continuous wide: visible edges and outlines
  hidden,   ///< 02.1 dashed narrow: hidden edges
  centre,   ///< 04.1 long-dashed dotted narrow: axes, planes of section
  thin,     ///< 01.1 continuous narrow: dimensions, extension lines, leaders
  hatch,    ///< 01.1 continuous narrow: hatching
  cut_end,  ///< 04.2 wide: the ends of a plane of section
  frame,    ///< 01, 0.7 mm: the sheet's frame (ISO 5457)
};
inline constexpr int pens = 7;

struct PenStyle {
  const char* name;            ///< also the SVG class
  double width_mm;             ///< line group 0.5 (ISO 128-2)
  std::vector<double> dashes;  ///< dash, gap, ... mm; empty: continuous
};
const PenStyle& pen_style(Pen pen);

struct Stroke {
  Pen pen = Pen::thin;
  std::vector<Vec2> points;
  bool closed = false;
};

struct Ring {
  Pen pen = Pen::thin;
  Vec2 centre;
  double radius = 0;
};

enum class Align { left, middle, right };

/// `text` is UTF-8; what the back end's letters lack becomes a question mark.
struct Words {
  Vec2 at;              ///< on the base line: left end, middle or right end
  double cap_mm = 2.5;  ///< height of capitals (ISO 3098: 2.5, 3.5, 5, ...)
  Align align = Align::left;
  bool turned = false;  ///< a quarter turn counter-clockwise: read from the right
  std::string text;
};

struct Page {
  double width_mm = 210, height_mm = 297;
  std::string name;  ///< for the SVG's title
  std::vector<Stroke> strokes;
  std::vector<Ring> rings;
  std::vector<std::vector<Vec2>> fills;  ///< black: arrowheads
  std::vector<Words> words;

  void line(Pen pen, Vec2 a, Vec2 b) { strokes.push_back({pen, {a, b}, false}); }
  void rectangle(Pen pen, Vec2 low, Vec2 high) {
    strokes.push_back({pen, {low, {high.x, low.y}, high, {low.x, high.y}}, true});
  }
  void write(Vec2 at, const std::string& text, double cap_mm = 2.5, Align align = Align::left, bool turned = false) {
    words.push_back({at, cap_mm, align, turned, text});
  }
  /// A filled arrowhead, 15 degrees wide, its tip at `tip`, pointing along the unit vector.
  void arrow(Vec2 tip, Vec2 along, double size_mm = 2.5);
};

struct PaperBox {
  Vec2 low, high;
};
inline bool overlap(const PaperBox& a, const PaperBox& b) {
  return a.low.x < b.high.x && b.low.x < a.high.x && a.low.y < b.high.y && b.low.y < a.high.y;
}
/// Whether any point of the segment is strictly inside the box.
bool runs_through(Vec2 a, Vec2 b, const PaperBox& box);

/// Width on paper by the metric of Helvetica (Adobe's font metrics; Arial and Liberation Sans have the same).
double words_width_mm(const std::string& text, double cap_mm);
/// From the lowest descender to the top of a capital, over the whole width.
PaperBox box_of(const Words& words);

/// UTF-8 to code points; a broken byte becomes U+FFFD.
std::vector<char32_t> code_points(const std::string& utf8);

/// One SVG document, user units millimetres. Text and attributes are escaped.
std::string to_svg(const Page& page);
/// One PDF 1.4 document, a page each; standard Helvetica, WinAnsi letters, no date inside: same pages, same bytes.
std::string to_pdf(const std::vector<Page>& pages, const std::string& title);

/// Points per millimetre (ISO 32000: 72 to the inch).
inline constexpr double points_per_mm = 72 / 25.4;

}  // namespace bedwright
