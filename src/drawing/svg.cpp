#include <fmt/format.h>

#include "base/markup.h"
#include "base/numbers.h"
#include "drawing/page.h"

namespace bedwright {
namespace {

constexpr double em_per_cap = 1000.0 / 718;

std::string n(double v) {
  return decimal(v, 3);
}

std::string style_sheet() {
  std::string css =
      "path,circle{fill:none;stroke:#000;stroke-linecap:butt;stroke-linejoin:round}.ink{fill:#000;stroke:none}"
      "text{font-family:Helvetica,Arial,'Liberation Sans',sans-serif;fill:#000}";
  for (int i = 0; i < pens; ++i) {
    const PenStyle& s = pen_style(static_cast<Pen>(i));
    css += fmt::format(".{}{{stroke-width:{}", s.name, n(s.width_mm));
    for (std::size_t k = 0; k < s.dashes.size(); ++k) css += (k ? "," : ";stroke-dasharray:") + n(s.dashes[k]);
    css += "}";
  }
  return css;
}

}  // namespace

std::string to_svg(const Page& page) {
  const auto y = [&](double v) { return n(page.height_mm - v); };
  std::string svg = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}mm\" height=\"{1}mm\" viewBox=\"0 0 {0} {1}\">\n"
      "<title>{2}</title>\n<style>{3}</style>\n<rect width=\"{0}\" height=\"{1}\" fill=\"#fff\"/>\n",
      n(page.width_mm), n(page.height_mm), escaped_markup(page.name), style_sheet());
  // One path a pen would be shorter, but dashes must begin anew with each line.
  for (const Stroke& s : page.strokes) {
    svg += fmt::format("<path class=\"{}\" d=\"", pen_style(s.pen).name);
    for (std::size_t i = 0; i < s.points.size(); ++i)
      svg += (i == 0 ? "M" : i == 1 ? "L" : " ") + n(s.points[i].x) + " " + y(s.points[i].y);
    svg += s.closed ? "Z\"/>\n" : "\"/>\n";
  }
  for (const Ring& r : page.rings)
    svg += fmt::format("<circle class=\"{}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>\n", pen_style(r.pen).name, n(r.centre.x),
                       y(r.centre.y), n(r.radius));
  for (const auto& fill : page.fills) {
    svg += "<path class=\"ink\" d=\"";
    for (std::size_t i = 0; i < fill.size(); ++i)
      svg += (i == 0 ? "M" : i == 1 ? "L" : " ") + n(fill[i].x) + " " + y(fill[i].y);
    svg += "Z\"/>\n";
  }
  for (const Words& w : page.words) {
    if (w.text.empty()) continue;
    const char* anchor = w.align == Align::left ? "start" : w.align == Align::middle ? "middle" : "end";
    const std::string turn = w.turned ? fmt::format(" transform=\"rotate(-90 {} {})\"", n(w.at.x), y(w.at.y)) : "";
    // textLength: as wide as it was measured, whichever letters the viewer has.
    svg += fmt::format(
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\" textLength=\"{}\" "
        "lengthAdjust=\"spacingAndGlyphs\"{}>{}</text>\n",
        n(w.at.x), y(w.at.y), n(w.cap_mm * em_per_cap), anchor, n(words_width_mm(w.text, w.cap_mm)), turn,
        escaped_markup(w.text));
  }
  return svg + "</svg>\n";
}

}  // namespace bedwright
