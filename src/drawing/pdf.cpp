#include <fmt/format.h>

#include "base/deflate.h"
#include "base/numbers.h"
#include "drawing/page.h"

namespace bedwright {
namespace {

constexpr double em_per_cap = 1000.0 / 718;
constexpr double circle_arm = 0.5522847498;  // of a quarter circle as a cubic: off by 0.03 % of the radius

std::string n(double v) {
  return decimal(v, 4);
}

/// A PDF string in WinAnsi (ISO 32000-1, annex D): Latin-1 and a few more.
std::string pdf_text(const std::string& utf8) {
  std::string out = "(";
  for (char32_t c : code_points(utf8)) {
    if (c == 0x2300) c = 0xd8;  // the standard letters have no diameter sign
    if (c == 0x2013) c = 0x96;
    if (c == 0x2019) c = 0x92;
    if (c == 0x2212) c = '-';
    const bool control = c < 32 || c == 127 || (c > 127 && c < 160 && c != 0x96 && c != 0x92);
    if (c > 255 || control) c = '?';
    if (c == '(' || c == ')' || c == '\\') out += '\\';
    if (c < 127)
      out += static_cast<char>(c);
    else
      out += fmt::format("\\{:03o}", static_cast<unsigned>(c));
  }
  return out + ")";
}

std::string point(Vec2 p) {
  return n(p.x * points_per_mm) + " " + n(p.y * points_per_mm) + " ";
}

std::string ring(const Ring& r) {
  const double a = circle_arm * r.radius, R = r.radius;
  const Vec2 c = r.centre;
  const auto bow = [&](Vec2 p, Vec2 q, Vec2 s) { return point(c + p) + point(c + q) + point(c + s) + "c "; };
  return point(c + Vec2{R, 0}) + "m " + bow({R, a}, {a, R}, {0, R}) + bow({-a, R}, {-R, a}, {-R, 0}) +
         bow({-R, -a}, {-a, -R}, {0, -R}) + bow({a, -R}, {R, -a}, {R, 0}) + "s\n";
}

void set_pen(std::string& out, Pen pen) {
  const PenStyle& s = pen_style(pen);
  out += n(s.width_mm * points_per_mm) + " w [";
  for (std::size_t i = 0; i < s.dashes.size(); ++i) out += (i ? " " : "") + n(s.dashes[i] * points_per_mm);
  out += "] 0 d\n";
}

std::string content(const Page& page) {
  std::string out = "0 J 1 j\n";
  for (int i = 0; i < pens; ++i) {
    const Pen pen = static_cast<Pen>(i);
    std::string lines;
    for (const Stroke& s : page.strokes) {
      if (s.pen != pen || s.points.size() < 2) continue;
      for (std::size_t k = 0; k < s.points.size(); ++k) lines += point(s.points[k]) + (k ? "l " : "m ");
      lines += s.closed ? "s\n" : "S\n";
    }
    for (const Ring& r : page.rings)
      if (r.pen == pen) lines += ring(r);
    if (lines.empty()) continue;
    set_pen(out, pen);
    out += lines;
  }
  for (const auto& fill : page.fills) {
    for (std::size_t k = 0; k < fill.size(); ++k) out += point(fill[k]) + (k ? "l " : "m ");
    out += "f\n";
  }
  for (const Words& w : page.words) {
    if (w.text.empty()) continue;
    const double width = words_width_mm(w.text, w.cap_mm);
    const double back = w.align == Align::left ? 0 : w.align == Align::middle ? width / 2 : width;
    const Vec2 at = w.turned ? w.at - Vec2{0, back} : w.at - Vec2{back, 0};
    out += "BT /F1 " + n(w.cap_mm * em_per_cap * points_per_mm) + " Tf " + (w.turned ? "0 1 -1 0 " : "1 0 0 1 ") +
           point(at) + "Tm " + pdf_text(w.text) + " Tj ET\n";
  }
  return out;
}

}  // namespace

std::string to_pdf(const std::vector<Page>& pages, const std::string& title) {
  std::vector<std::string> objects;  // object k + 1
  std::string kids;
  for (std::size_t i = 0; i < pages.size(); ++i) kids += fmt::format("{} 0 R ", 5 + 2 * i);
  objects.push_back("<< /Type /Catalog /Pages 2 0 R /ViewerPreferences << /PrintScaling /None >> >>");
  objects.push_back(fmt::format("<< /Type /Pages /Kids [{}] /Count {} >>", kids, pages.size()));
  objects.push_back("<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>");
  objects.push_back("<< /Title " + pdf_text(title) + " >>");
  for (std::size_t i = 0; i < pages.size(); ++i) {
    const std::string packed = zlib_packed(content(pages[i]));
    objects.push_back(
        fmt::format("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {} {}] /Resources << /Font << /F1 3 0 R >> >> "
                    "/Contents {} 0 R >>",
                    n(pages[i].width_mm * points_per_mm), n(pages[i].height_mm * points_per_mm), 6 + 2 * i));
    objects.push_back(fmt::format("<< /Length {} /Filter /FlateDecode >>\nstream\n", packed.size()) + packed +
                      "\nendstream");
  }
  std::string pdf = "%PDF-1.4\n%\xe2\xe3\xcf\xd3\n", table;
  for (std::size_t i = 0; i < objects.size(); ++i) {
    table += fmt::format("{:010} 00000 n \n", pdf.size());
    pdf += fmt::format("{} 0 obj\n", i + 1) + objects[i] + "\nendobj\n";
  }
  const std::size_t start = pdf.size();
  pdf += fmt::format("xref\n0 {}\n0000000000 65535 f \n", objects.size() + 1) + table;
  return pdf + fmt::format("trailer\n<< /Size {} /Root 1 0 R /Info 4 0 R >>\nstartxref\n{}\n%%EOF\n",
                           objects.size() + 1, start);
}

}  // namespace bedwright
