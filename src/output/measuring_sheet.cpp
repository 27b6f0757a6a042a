#include "output/measuring_sheet.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/markup.h"
#include "base/numbers.h"
#include "base/vec.h"
#include "kit/interview.h"

namespace bedwright {

namespace {

// Page, millimetres; y runs down the page, as in SVG.
constexpr double box_width_mm = 20, box_height_mm = 6, box_number_mm = 7.2;
constexpr double left_mm = 11, right_mm = 199;

std::string text_of(double v) {
  return decimal(v, 3);
}

struct Sheet {
  std::string body;

  void line(Vec2 a, Vec2 b, const char* kind = "thin") {
    body += "<line class=\"" + std::string(kind) + "\" x1=\"" + text_of(a.x) + "\" y1=\"" + text_of(a.y) + "\" x2=\"" +
            text_of(b.x) + "\" y2=\"" + text_of(b.y) + "\"/>\n";
  }
  void rectangle(Vec2 low, Vec2 size, const char* kind = "thick", double round = 0) {
    body += "<rect class=\"" + std::string(kind) + "\" x=\"" + text_of(low.x) + "\" y=\"" + text_of(low.y) +
            "\" width=\"" + text_of(size.x) + "\" height=\"" + text_of(size.y) + "\" rx=\"" + text_of(round) + "\"/>\n";
  }
  void rectangle_about(Vec2 centre, Vec2 size, const char* kind = "thick", double round = 0) {
    rectangle({centre.x - size.x / 2, centre.y - size.y / 2}, size, kind, round);
  }
  void circle(Vec2 centre, double radius, const char* kind = "thick") {
    body += "<circle class=\"" + std::string(kind) + "\" cx=\"" + text_of(centre.x) + "\" cy=\"" + text_of(centre.y) +
            "\" r=\"" + text_of(radius) + "\"/>\n";
  }
  void path(const std::string& d, const char* kind = "thick") {
    body += "<path class=\"" + std::string(kind) + "\" d=\"" + d + "\"/>\n";
  }
  void text(Vec2 at, double size, const std::string& words, const char* anchor = "start", bool bold = false) {
    body += "<text x=\"" + text_of(at.x) + "\" y=\"" + text_of(at.y) + "\" font-size=\"" + text_of(size) + "\"" +
            (std::string(anchor) == "start" ? "" : " text-anchor=\"" + std::string(anchor) + "\"") +
            (bold ? " font-weight=\"bold\"" : "") + ">" + escaped_markup(words) + "</text>\n";
  }
  /// A filled head at `tip`, pointing along the unit direction d.
  void arrow_head(Vec2 tip, Vec2 d, double length = 1.8) {
    const Vec2 back{tip.x - d.x * length, tip.y - d.y * length}, across{-d.y * length / 4, d.x * length / 4};
    path("M" + text_of(tip.x) + " " + text_of(tip.y) + "L" + text_of(back.x + across.x) + " " +
             text_of(back.y + across.y) + "L" + text_of(back.x - across.x) + " " + text_of(back.y - across.y) + "Z",
         "solid");
  }
};

const Question& question_of(const std::string& key) {
  for (const Question& q : questions()) {
    if (q.key == key) return q;
  }
  throw Error("the measuring sheet asks for " + key + ", which is no question");
}

/// The box to write in: its number at the left, its unit at the right.
void answer_box(Sheet& sheet, const std::string& key, Vec2 low, double width = box_width_mm) {
  const Question& q = question_of(key);
  sheet.rectangle(low, {width, box_height_mm}, "box");
  sheet.line({low.x + box_number_mm, low.y}, {low.x + box_number_mm, low.y + box_height_mm}, "hair");
  sheet.text({low.x + box_number_mm / 2, low.y + 4}, 2.5, number_text(q), "middle", true);
  sheet.text({low.x + width - 0.6, low.y + box_height_mm - 0.7}, 1.6, unit_text(q), "end");
}

void answer_box_about(Sheet& sheet, const std::string& key, Vec2 centre) {
  answer_box(sheet, key, {centre.x - box_width_mm / 2, centre.y - box_height_mm / 2});
}

/// A dimension from a to b, level or upright, its line at `at` (y or x); extension lines start at the measured points.
/// The box sits on the line unless `box` says where else.
void dimension(Sheet& sheet, const std::string& key, Vec2 a, Vec2 b, bool level, double at, const Vec2* box = nullptr) {
  const Vec2 p = level ? Vec2{a.x, at} : Vec2{at, a.y}, q = level ? Vec2{b.x, at} : Vec2{at, b.y};
  const Vec2 along = level ? Vec2{1, 0} : Vec2{0, 1};
  const auto extend = [&](Vec2 from, Vec2 to) {
    const Vec2 d{to.x - from.x, to.y - from.y};
    const double length = std::sqrt(d.x * d.x + d.y * d.y);
    if (length < 1) return;
    const Vec2 u{d.x / length, d.y / length};
    sheet.line({from.x + u.x * 0.8, from.y + u.y * 0.8}, {to.x + u.x * 1.2, to.y + u.y * 1.2}, "hair");
  };
  extend(a, p);
  extend(b, q);
  sheet.line(p, q);
  sheet.arrow_head(p, {-along.x, -along.y});
  sheet.arrow_head(q, along);
  answer_box_about(sheet, key, box ? *box : Vec2{(p.x + q.x) / 2, (p.y + q.y) / 2});
}

void caption(Sheet& sheet, Vec2 at, const std::string& words) {
  sheet.text(at, 2.7, words, "start", true);
}

void head(Sheet& sheet) {
  sheet.text({left_mm, 16}, 6, "Measuring sheet", "start", true);
  sheet.text({left_mm, 20.2}, 2.2, "Same numbers as bedwright start. Millimetres unless a box says otherwise.");
  double x = 98;
  for (const char* key : {"kit", "revision", "title"}) {
    const double width = std::string(key) == "title" ? 42 : std::string(key) == "kit" ? 32 : 23;
    sheet.text({x, 12.5}, 2.1, question_of(key).label);
    answer_box(sheet, key, {x, 13.5}, width);
    x += width + 2;
  }
  sheet.rectangle({left_mm, 23}, {118, 14}, "thick");
  sheet.text({left_mm + 2, 27}, 2.7, "Unplug the machine. Let the bed cool. Then measure.", "start", true);
  answer_box(sheet, "safe", {left_mm + 96, 24}, 20);
  sheet.text({left_mm + 2, 31}, 2.2,
             "Sheet edges cut: gloves. Look what lies behind a hole before anything goes into it.");
  sheet.text({left_mm + 2, 34.7}, 2.2, "Mains wiring, earthing and supplies: local codes and licensed people decide.");
  sheet.rectangle({132, 23}, {right_mm - 132, 14}, "thin");
  sheet.text({134, 27}, 2.4, "Tools", "start", true);
  sheet.text({134, 31}, 2.2, "caliper, steel rule, straightedge, feeler gauge,");
  sheet.text({134, 34.7}, 2.2, "kitchen scale, pen that marks metal");
}

/// Bed, sheet, rails and carriages from above; the rear is at the top.
void plan_view(Sheet& sheet) {
  const Vec2 c{90, 98};
  const double bed = 33, frame = 29, rail_x = 14, rail_half = 38, hole_x = 21, hole_y = 16, mount = 25.5, stop_y = 14;
  caption(sheet, {left_mm, 43}, "From above");
  sheet.rectangle_about(c, {2 * bed, 2 * bed}, "dashed", 1);
  sheet.rectangle_about(c, {2 * frame, 2 * frame}, "thick", 5);
  for (double side : {-1.0, 1.0}) {
    sheet.rectangle_about({c.x + side * rail_x, c.y}, {4, 2 * rail_half}, "filled");
    sheet.line({c.x + side * rail_x, c.y - rail_half - 2}, {c.x + side * rail_x, c.y + rail_half + 2}, "axis");
    for (double end : {-1.0, 1.0}) {
      sheet.rectangle_about({c.x + side * rail_x, c.y + end * stop_y}, {9, 13}, "filled");
      sheet.circle({c.x + side * hole_x, c.y + end * hole_y}, 1.1, "filled");
      sheet.circle({c.x + side * mount, c.y + end * mount}, 1.4, "filled");
      sheet.circle({c.x + side * mount, c.y + end * mount}, 0.4, "solid");
    }
  }
  sheet.line({c.x - 3, c.y}, {c.x + 3, c.y}, "axis");
  sheet.line({c.x, c.y - 3}, {c.x, c.y + 3}, "axis");
  sheet.text({c.x - bed + 1, c.y + bed - 1.2}, 2, "bed");
  sheet.text({c.x - frame + 2.5, c.y + 9}, 2, "sheet");

  dimension(sheet, "mounts-x", {c.x - mount, c.y - mount - 1.4}, {c.x + mount, c.y - mount - 1.4}, true, 47);
  dimension(sheet, "holes-x", {c.x - hole_x, c.y - hole_y - 1}, {c.x + hole_x, c.y - hole_y - 1}, true, 55);
  dimension(sheet, "rail-pitch", {c.x - rail_x, c.y + rail_half + 2}, {c.x + rail_x, c.y + rail_half + 2}, true, 142.5);
  dimension(sheet, "holes-y", {c.x - hole_x - 1, c.y - hole_y}, {c.x - hole_x - 1, c.y + hole_y}, false, 45);
  dimension(sheet, "mounts-y", {c.x - mount - 1.4, c.y - mount}, {c.x - mount - 1.4, c.y + mount}, false, 22);
  dimension(sheet, "carriage-spacing", {c.x + rail_x + 4.5, c.y - stop_y}, {c.x + rail_x + 4.5, c.y + stop_y}, false,
            137);
  // Leaders to the diameters of a bed mount and of a frame hole.
  sheet.line({c.x + mount + 1.1, c.y - mount - 1.1}, {127, 63});
  answer_box(sheet, "mount-hole", {127, 60});
  sheet.line({c.x + hole_x + 0.9, c.y + hole_y + 0.7}, {127, 130});
  answer_box(sheet, "frame-hole", {127, 127});
  sheet.text({147, 59}, 2, "bed mount, diameter", "end");
  sheet.text({147, 136}, 2, "sheet hole, diameter", "end");

  sheet.rectangle({c.x - bed, 148}, {2 * bed, 5}, "solid");
  sheet.body += "<text class=\"on-dark\" x=\"" + text_of(c.x) +
                "\" y=\"151.7\" font-size=\"3.4\" text-anchor=\"middle\">FRONT</text>\n";
  const Vec2 o{16, 150};
  sheet.line(o, {o.x + 13, o.y});
  sheet.arrow_head({o.x + 14, o.y}, {1, 0}, 2.4);
  sheet.line(o, {o.x, o.y - 13});
  sheet.arrow_head({o.x, o.y - 14}, {0, -1}, 2.4);
  sheet.text({o.x + 15, o.y + 0.9}, 2.4, "X right");
  sheet.text({o.x - 3, o.y - 15.2}, 2.4, "Y rear");
}

void carriage_views(Sheet& sheet) {
  const double x = 165;
  caption(sheet, {152, 43}, "Carriage on its rail, end view");
  sheet.rectangle({x - 13, 57}, {26, 12}, "filled");
  sheet.rectangle({x - 6, 67}, {12, 9}, "filled");
  sheet.line({x - 16, 76}, {x + 16, 76}, "thick");
  dimension(sheet, "carriage-width", {x - 13, 57}, {x + 13, 57}, true, 50);
  const Vec2 rail_box{x, 84.5};
  dimension(sheet, "rail-width", {x - 6, 76}, {x + 6, 76}, true, 79.5, &rail_box);
  const Vec2 height_box{189, 66.5};
  dimension(sheet, "carriage-height", {x + 13, 57}, {x + 16, 76}, false, 189, &height_box);

  caption(sheet, {152, 93}, "Carriage from above");
  const double y = 112;
  sheet.rectangle({152, y - 10}, {24, 20}, "filled");
  sheet.line({154.5, y - 10}, {154.5, y + 10}, "hair");
  sheet.line({173.5, y - 10}, {173.5, y + 10}, "hair");
  sheet.line({150, y}, {178, y}, "axis");
  for (double sx : {-1.0, 1.0}) {
    for (double sy : {-1.0, 1.0}) sheet.circle({164 + sx * 6, y + sy * 6.5}, 1, "filled");
  }
  dimension(sheet, "carriage-length", {152, y - 10}, {176, y - 10}, true, 98.5);
  const Vec2 along_box{164, 131};
  dimension(sheet, "holes-along", {158, y + 7.5}, {170, y + 7.5}, true, 125.5, &along_box);
  const Vec2 across_box{189, y};
  dimension(sheet, "holes-across", {171, y - 6.5}, {171, y + 6.5}, false, 189, &across_box);

  caption(sheet, {152, 139.5}, "Edge of the sheet");
  sheet.rectangle({152, 147}, {24, 3}, "filled");
  sheet.line({168, 143}, {168, 147});
  sheet.arrow_head({168, 147}, {0, 1});
  sheet.line({168, 154}, {168, 150});
  sheet.arrow_head({168, 150}, {0, -1});
  sheet.line({168, 154}, {179, 154});
  answer_box(sheet, "sheet", {179, 151});
}

void rail_view(Sheet& sheet) {
  caption(sheet, {left_mm, 160}, "From the right side");
  const double low = 20, high = 190, y = 176;
  sheet.rectangle({low, y}, {high - low, 4}, "filled");
  for (int i = 0; i <= 16; ++i) sheet.line({low + 5 + i * 10.0, y - 0.8}, {low + 5 + i * 10.0, y + 4.8}, "axis");
  for (double x : {62.0, 118.0}) sheet.rectangle({x, y - 6}, {24, 8.5}, "filled");
  sheet.path("M52 168.4 Q102 166 152 168.4 L152 169.6 Q102 167.2 52 169.6 Z", "filled");
  sheet.text({154.5, 169.6}, 2, "sheet");
  sheet.text({low - 1.5, y + 3}, 2.4, "FRONT", "end", true);
  sheet.text({high + 1.5, y + 3}, 2.4, "REAR", "start", true);
  const Vec2 travel_box{102, 163};
  sheet.line({40, 163}, {164, 163});
  sheet.arrow_head({40, 163}, {-1, 0});
  sheet.arrow_head({164, 163}, {1, 0});
  answer_box_about(sheet, "travel", travel_box);
  sheet.text({114, 162.2}, 2, "travel of the bed, stop to stop");
  const Vec2 first_box{43, 185.5};
  dimension(sheet, "first-hole", {low, y + 4}, {low + 5, y + 4}, true, 185.5, &first_box);
  sheet.line({low + 5, 185.5}, {33, 185.5}, "hair");
  dimension(sheet, "rail-length", {low, y + 4}, {high, y + 4}, true, 191);
  const Vec2 margin_box{171, 185.5};
  dimension(sheet, "end-margin", {high - 4, y + 4}, {high, y + 4}, true, 185.5, &margin_box);
  sheet.line({181, 185.5}, {high - 4, 185.5}, "hair");
  sheet.text({54.5, 186.4}, 2, "rail end to first hole");
  sheet.text({159.5, 186.4}, 2, "left free at each end", "end");
}

void dome_views(Sheet& sheet) {
  caption(sheet, {left_mm, 199.5},
          "Dome: straightedge and feelers, four ways through the middle; sheet free, not pressed");
  const Vec2 c{29, 219};
  sheet.rectangle_about(c, {30, 30}, "thick", 3);
  sheet.line({c.x - 14, c.y}, {c.x + 14, c.y}, "thick");
  sheet.line({c.x, c.y - 14}, {c.x, c.y + 14}, "thick");
  sheet.line({c.x - 13, c.y + 13}, {c.x + 13, c.y - 13}, "dashed");
  sheet.line({c.x + 13, c.y + 13}, {c.x - 13, c.y - 13}, "dashed");
  sheet.text({c.x + 10.5, c.y - 0.8}, 2.4, "X", "start", true);
  sheet.text({c.x + 0.8, c.y - 10.5}, 2.4, "Y", "start", true);
  sheet.text({c.x - 10, c.y + 13}, 2.4, "1", "start", true);
  sheet.text({c.x + 8.5, c.y + 13}, 2.4, "2", "start", true);
  sheet.text({c.x, c.y + 18.2}, 2.4, "FRONT", "middle", true);

  const double edge = 60, gap = 84;
  sheet.text({edge, 203.6}, 2.1, "straightedge");
  sheet.text({gap, 203.6}, 2.1, "gap");
  const struct {
    const char* name;
    const char* edge;
    const char* gap;
  } rows[] = {
      {"X", "edge-x", "gap-x"}, {"Y", "edge-y", "gap-y"}, {"1", "edge-diagonal", "gap-d1"}, {"2", nullptr, "gap-d2"}};
  double y = 204.8;
  for (const auto& row : rows) {
    sheet.text({edge - 4.5, y + 4.2}, 2.6, row.name, "start", true);
    if (row.edge) answer_box(sheet, row.edge, {edge, y});
    if (!row.edge) sheet.text({edge + 10, y + 4}, 2.1, "as 1", "middle");
    answer_box(sheet, row.gap, {gap, y});
    y += 7.4;
  }

  sheet.text({110, 203.6}, 2.1, "hollow face: rests on its ends, gap in the middle");
  sheet.rectangle({114, 206}, {44, 2}, "filled");
  sheet.path("M112 208.2 Q136 213.2 160 208.2", "thick");
  sheet.line({136, 208}, {136, 210.7});
  sheet.text({136, 213.6}, 1.9, "gap", "middle");
  sheet.text({110, 216.6}, 2.1, "bulging face: held level, the same gap at both ends");
  sheet.rectangle({114, 218.6}, {44, 2}, "filled");
  sheet.path("M112 223.6 Q136 217.8 160 223.6", "thick");
  sheet.line({114.4, 220.6}, {114.4, 223});
  sheet.line({157.6, 220.6}, {157.6, 223});
  sheet.text({109, 222.6}, 1.9, "gap");
  sheet.text({160.5, 222.6}, 1.9, "gap");
  sheet.text({110, 228.6}, 2.1, "No leaf goes under anywhere: flat, leave the gaps out.");
  sheet.text({110, 232}, 2.1, "Unequal gaps on 1 and 2: the sheet is twisted.");

  y = 201.5;
  for (const char* key : {"crown", "face", "apex-x", "apex-y"}) {
    sheet.text({right_mm - 20, y + 1.9}, 2.1, question_of(key).label);
    answer_box(sheet, key, {right_mm - 20, y + 2.6});
    y += 8.9;
  }
}

/// What has no place on a drawing: label and box, in four columns.
void table(Sheet& sheet) {
  const char* keys[] = {"compare",         "old-bearing",    "old-play",   "old-height",   "old-mass",
                        "preload",         "sheet-material", "sheet-mass", "centre-x",     "centre-y",
                        "mounts",          "bed-width",      "bed-depth",  "bed-mass",     "bed-material",
                        "bed-temperature", "printer-x",      "printer-y",  "printer-z",    "layer",
                        "first-layer",     "line",           "plastic",    "plate",        "boss-side",
                        "frame-screw",     "slot",           "riser",      "riser-height", "shim",
                        "shim-thickness"};
  const double top = 242.5, pitch_x = 47.5, pitch_y = 5.1, box = 19;
  const int rows = 8;
  int i = 0;
  for (const char* key : keys) {
    const int column = i / rows, row = i % rows;
    const Vec2 at{left_mm + column * pitch_x, top + row * pitch_y};
    const Question& q = question_of(key);
    sheet.text({at.x, at.y + 3.4}, 2, q.label);
    sheet.rectangle({at.x + 26.2, at.y}, {box, pitch_y}, "box");
    sheet.line({at.x + 26.2 + box_number_mm - 0.4, at.y}, {at.x + 26.2 + box_number_mm - 0.4, at.y + pitch_y}, "hair");
    sheet.text({at.x + 26.2 + box_number_mm / 2 - 0.2, at.y + 3.5}, 2.3, number_text(q), "middle", true);
    sheet.text({at.x + 26.2 + box - 0.6, at.y + pitch_y - 0.6}, 1.6, unit_text(q), "end");
    ++i;
  }
}

void check_bars(Sheet& sheet) {
  const double y = 289;
  sheet.body += "<line id=\"check-bar-100\" class=\"thick\" x1=\"11\" y1=\"289\" x2=\"111\" y2=\"289\"/>\n";
  for (int i = 0; i <= 10; ++i) {
    const double x = 11 + 10.0 * i;
    sheet.line({x, y - (i % 5 == 0 ? 2.5 : 1.5)}, {x, y});
  }
  sheet.text({113, y}, 2.2, "100 mm; the upright bar is 50 mm. If a rule disagrees, print at 100 %.");
  sheet.body += "<line id=\"check-bar-50\" class=\"thick\" x1=\"204\" y1=\"239\" x2=\"204\" y2=\"289\"/>\n";
  for (int i = 0; i <= 5; ++i) {
    const double at = 239 + 10.0 * i;
    sheet.line({204 - (i % 5 == 0 ? 2.5 : 1.5), at}, {204, at});
  }
}

}  // namespace

std::string measuring_sheet_svg() {
  Sheet sheet;
  head(sheet);
  plan_view(sheet);
  carriage_views(sheet);
  rail_view(sheet);
  dome_views(sheet);
  table(sheet);
  check_bars(sheet);
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
         "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\" "
         "font-family=\"sans-serif\">\n"
         "<title>Measuring sheet</title>\n"
         "<style>\n"
         ".thick{stroke:#000;stroke-width:.4;fill:none}\n"
         ".thin{stroke:#000;stroke-width:.18;fill:none}\n"
         ".hair{stroke:#000;stroke-width:.1;fill:none}\n"
         ".dashed{stroke:#000;stroke-width:.25;stroke-dasharray:2 1;fill:none}\n"
         ".axis{stroke:#000;stroke-width:.12;stroke-dasharray:2.4 .7 .5 .7;fill:none}\n"
         ".filled{stroke:#000;stroke-width:.3;fill:#fff}\n"
         ".box{stroke:#000;stroke-width:.25;fill:#fff}\n"
         ".solid{stroke:none;fill:#000}\n"
         ".on-dark{fill:#fff;font-weight:bold;letter-spacing:.8px}\n"
         "</style>\n"
         "<rect width=\"210\" height=\"297\" fill=\"#fff\"/>\n" +
         sheet.body + "</svg>\n";
}

}  // namespace bedwright
