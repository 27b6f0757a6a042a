#include "drawing/sheet.h"

#include "base/numbers.h"

namespace bedwright {
namespace {

constexpr double label_cap = 1.8, field_cap = 2.5;

/// A field: a small label at its top, what it holds below.
void field(Page& page, Vec2 low, Vec2 high, const std::string& label, const std::string& text, double cap = field_cap) {
  page.rectangle(Pen::thin, low, high);
  page.write({low.x + 1, high.y - 1 - label_cap}, label, label_cap);
  page.write({low.x + 1.5, low.y + 1.6}, shortened(text, cap, high.x - low.x - 3), cap);
}

}  // namespace

std::string scale_text(double scale) {
  return scale >= 1 ? decimal(scale, 2) + ":1" : "1:" + decimal(1 / scale, 2);
}

std::string shortened(const std::string& text, double cap_mm, double width_mm) {
  if (words_width_mm(text, cap_mm) <= width_mm) return text;
  std::string cut = text;
  while (!cut.empty() && words_width_mm(cut + "...", cap_mm) > width_mm) {
    // Whole letters: bytes 10xxxxxx continue one.
    while (!cut.empty() && (static_cast<unsigned char>(cut.back()) & 0xc0) == 0x80) cut.pop_back();
    if (!cut.empty()) cut.pop_back();
  }
  return cut + "...";
}

void projection_symbol(Page& page, Vec2 at, bool third_angle) {
  // ISO 5456-2: small end d, large end 2 d, as long as wide. In first angle what is seen from the left stands at the
  // right; the small end looks to the left in both.
  constexpr double d = 3.5;
  const Vec2 cone = at + Vec2{third_angle ? 4.75 : -4.75, 0}, rings = at + Vec2{third_angle ? -4.75 : 4.75, 0};
  page.strokes.push_back(
      {Pen::visible, {cone + Vec2{-d, -d / 2}, cone + Vec2{d, -d}, cone + Vec2{d, d}, cone + Vec2{-d, d / 2}}, true});
  page.rings.push_back({Pen::visible, rings, d / 2});
  page.rings.push_back({Pen::visible, rings, d});
  page.line(Pen::centre, cone - Vec2{d + 1, 0}, cone + Vec2{d + 1, 0});
  page.line(Pen::centre, rings - Vec2{d + 1, 0}, rings + Vec2{d + 1, 0});
  page.line(Pen::centre, rings - Vec2{0, d + 1}, rings + Vec2{0, d + 1});
}

Page framed_sheet(const SheetSize& size, const TitleBlock& t) {
  Page page;
  page.width_mm = size.width_mm;
  page.height_mm = size.height_mm;
  page.name = t.kit + " " + t.revision + ": " + t.part;
  const Vec2 low{filing_margin_mm, margin_mm}, high{size.width_mm - margin_mm, size.height_mm - margin_mm};
  page.rectangle(Pen::frame, low, high);
  // Centring marks (ISO 5457), from the sheet's edge to the frame.
  const Vec2 middle = 0.5 * (low + high);
  page.line(Pen::frame, {middle.x, 0}, {middle.x, low.y});
  page.line(Pen::frame, {middle.x, size.height_mm}, {middle.x, high.y});
  page.line(Pen::frame, {0, middle.y}, {low.x, middle.y});
  page.line(Pen::frame, {size.width_mm, middle.y}, {high.x, middle.y});
  const double x = high.x - title_width_mm, y = low.y;
  const double row = 9;
  const auto cell = [&](double from, double to, int r, const char* label, const std::string& text,
                        double cap = field_cap) {
    field(page, {x + from, y + r * row}, {x + to, y + (r + 1) * row}, label, text, cap);
  };
  cell(0, 70, 3, "Kit", t.kit, 3.5);
  cell(70, 90, 3, "Revision", t.revision, 3.5);
  cell(90, 180, 3, "Title", t.title);
  cell(0, 90, 2, "Part", t.part, 3.5);
  cell(90, 180, 2, "What it is", t.what);
  cell(0, 34, 1, "Material", t.material);
  cell(34, 56, 1, "Scale", t.scale);
  cell(56, 90, 1, "General tolerance", "ISO 2768-" + t.general);
  cell(90, 118, 1, "Units", "mm, degrees");
  cell(118, 140, 1, "Size", size.name);
  cell(0, 56, 0, "Made from the model", "do not scale the drawing");
  cell(56, 90, 0, "Date", t.date.empty() ? "none given" : t.date);
  cell(90, 118, 0, "Edges", "as printed");
  cell(118, 140, 0, "Sheet", std::to_string(t.sheet) + " of " + std::to_string(t.sheets));
  page.rectangle(Pen::thin, {x + 140, y}, {x + 180, y + 2 * row});
  page.write({x + 141, y + 2 * row - 1 - label_cap},
             std::string(t.third_angle ? "Third" : "First") + " angle (ISO 5456-2)", label_cap);
  projection_symbol(page, {x + 160, y + 7}, t.third_angle);
  page.rectangle(Pen::visible, {x, y}, {x + title_width_mm, y + title_height_mm});
  return page;
}

}  // namespace bedwright
