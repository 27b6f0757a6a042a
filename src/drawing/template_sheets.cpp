#include "drawing/template_sheets.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "base/trig.h"
#include "drawing/annotate.h"
#include "drawing/clip.h"
#include "drawing/sheet.h"
#include "drawing/told.h"

namespace bedwright {
namespace {

constexpr double border_mm = 8;  // of paper that printers may leave white
constexpr double strip_mm = 13;  // left of and below the window, for bars and words
constexpr double room_mm = 12;   // round what is drawn
constexpr double cross_mm = 6;   // half a hole's centre mark
constexpr double a4_short = 210, a4_long = 297;
constexpr int circle_pieces = 128;
constexpr const char* bar_words = "100 mm: measure it. If the bar is not 100 mm, the printer scaled the page.";

/// What the template shows, plan of the machine as seen (x mirrored from below), y to the rear.
struct Plan {
  std::vector<Stroke> strokes;
  std::vector<Words> words;
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};

  void take(Vec2 p) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  void line(Pen pen, Vec2 a, Vec2 b) {
    strokes.push_back({pen, {a, b}, false});
    take(a), take(b);
  }
  void closed(Pen pen, std::vector<Vec2> points) {
    for (const Vec2 p : points) take(p);
    strokes.push_back({pen, std::move(points), true});
  }
  void circle(Pen pen, Vec2 at, double radius) {
    std::vector<Vec2> points;
    for (int i = 0; i < circle_pieces; ++i) {
      const double a = 2 * pi * i / circle_pieces;
      points.push_back(at + radius * Vec2{cos_rad(a), sin_rad(a)});
    }
    closed(pen, std::move(points));
  }
  void cross(Vec2 at, double half) {
    line(Pen::thin, at - Vec2{half, 0}, at + Vec2{half, 0});
    line(Pen::thin, at - Vec2{0, half}, at + Vec2{0, half});
  }
};

bool is_free(const Plan& plan, const PaperBox& box) {
  Page page;
  page.strokes = plan.strokes;
  page.words = plan.words;
  return is_clear(page, box);
}

/// Beside a point, where nothing is in the way; left out where everything is.
void label(Plan& plan, Vec2 at, const std::string& text) {
  for (double away = 3; away < 30; away += 1)
    for (const Vec2 way : {Vec2{1, 1}, Vec2{1, -1}, Vec2{-1, 1}, Vec2{-1, -1}}) {
      const Words w{at + Vec2{way.x * away, way.y > 0 ? away : -away - note_cap_mm}, note_cap_mm,
                    way.x > 0 ? Align::left : Align::right, false, text};
      const PaperBox box = box_of(w);
      if (!is_free(plan, {box.low - Vec2{0.4, 0.4}, box.high + Vec2{0.4, 0.4}})) continue;
      plan.words.push_back(w);
      plan.take(box.low), plan.take(box.high);
      return;
    }
}

Plan plan_of(const Kit& kit, const Layout& layout, bool from_below) {
  Plan plan;
  const auto seen = [&](Vec2 p) { return Vec2{from_below ? -p.x : p.x, p.y}; };
  for (const PlateFootprint& plate : layout.plates)
    for (const Placement& p : layout.placements)
      if (p.id == plate.placement) {
        std::vector<Vec2> points = polygonised(plate.outline, 0.01);
        for (Vec2& q : points) q = seen(q + p.at);
        plan.closed(Pen::visible, std::move(points));
      }
  const CarriageSize& c = kit.carriages.size;
  for (const Placement& p : layout.placements)
    for (const double x : {-0.5, 0.5})
      for (const double y : {-0.5, 0.5}) {
        const Vec2 at = seen(p.at + Vec2{x * c.hole_across_mm, y * c.hole_along_mm});
        plan.circle(Pen::thin, at, 1.5);
        plan.cross(at, 3);
      }
  for (const FrameHole& h : kit.frame.holes) {
    plan.circle(Pen::visible, seen(h.at_mm), h.diameter_mm / 2);
    plan.cross(seen(h.at_mm), h.diameter_mm / 2 + cross_mm);
  }
  for (const FrameHole& h : kit.frame.mounts) {
    plan.circle(Pen::hidden, seen(h.at_mm), h.diameter_mm / 2);
    plan.cross(seen(h.at_mm), h.diameter_mm / 2 + cross_mm);
  }
  // Rails' centre lines and the machine's own axes.
  const Vec2 low = plan.low, high = plan.high;
  for (const double x : {-kit.rails.pitch_mm / 2, 0.0, kit.rails.pitch_mm / 2})
    plan.line(Pen::centre, {x, low.y - 4}, {x, high.y + 4});
  plan.line(Pen::centre, {low.x - 4, 0}, {high.x + 4, 0});
  for (const FrameHole& h : kit.frame.holes) label(plan, seen(h.at_mm), h.id + " \u2300" + fixed_2(h.diameter_mm));
  for (const FrameHole& h : kit.frame.mounts)
    label(plan, seen(h.at_mm), "bed mount " + h.id + " \u2300" + fixed_2(h.diameter_mm));
  label(plan, {0, 0}, "middle of the carriages");
  label(plan, {0, low.y - 4}, "FRONT of the machine");
  label(plan, {0, high.y + 4}, "REAR");
  label(plan, seen({-kit.rails.pitch_mm / 2, 0}), "left rail");
  label(plan, seen({kit.rails.pitch_mm / 2, 0}), "right rail");
  plan.low = plan.low - Vec2{room_mm, room_mm};
  plan.high = plan.high + Vec2{room_mm, room_mm};
  return plan;
}

/// The part of a segment inside a box; false where there is none.
bool clip(Vec2& a, Vec2& b, Vec2 low, Vec2 high) {
  double from = 0, to = 1;
  const Vec2 start = a, d = b - a;
  const double limits[4][2] = {{d.x, a.x - low.x}, {-d.x, high.x - a.x}, {d.y, a.y - low.y}, {-d.y, high.y - a.y}};
  for (const auto& [slope, at] : limits)
    if (!keep_beyond(slope, at, from, to)) return false;
  if (to <= from) return false;
  a = start + from * d;
  b = start + to * d;
  return true;
}

/// What of the plan lies in the window from `low` to `high`, put on the page with the window's lower left at `origin`.
void put(Page& page, const Plan& plan, Vec2 low, Vec2 high, Vec2 origin) {
  const Vec2 shift = origin - low;
  for (const Stroke& s : plan.strokes) {
    const bool whole = std::all_of(s.points.begin(), s.points.end(), [&](Vec2 p) {
      return p.x >= low.x && p.x <= high.x && p.y >= low.y && p.y <= high.y;
    });
    if (whole) {
      Stroke moved = s;
      for (Vec2& p : moved.points) p = p + shift;
      page.strokes.push_back(std::move(moved));
      continue;
    }
    const std::size_t count = s.points.size() - (s.closed ? 0 : 1);
    Stroke run{s.pen, {}, false};
    const auto flush = [&] {
      if (run.points.size() > 1) page.strokes.push_back(run);
      run.points.clear();
    };
    for (std::size_t i = 0; i < count; ++i) {
      Vec2 a = s.points[i], b = s.points[(i + 1) % s.points.size()];
      if (!clip(a, b, low, high)) {
        flush();
        continue;
      }
      if (run.points.empty() || length(run.points.back() - (a + shift)) > 1e-6) {
        flush();
        run.points.push_back(a + shift);
      }
      run.points.push_back(b + shift);
    }
    flush();
  }
  for (Words w : plan.words) {
    const PaperBox box = box_of(w);
    if (box.low.x < low.x || box.low.y < low.y || box.high.x > high.x || box.high.y > high.y) continue;
    w.at = w.at + shift;
    page.words.push_back(w);
  }
}

void bar(Page& page, Vec2 at, bool upright) {
  const Vec2 way = upright ? Vec2{0, 1} : Vec2{1, 0}, across = upright ? Vec2{1, 0} : Vec2{0, 1};
  page.line(Pen::visible, at, at + check_bar_mm * way);
  for (const double along : {0.0, check_bar_mm})
    page.line(Pen::thin, at + along * way - 2 * across, at + along * way + 2 * across);
}

/// Words and bars in the strips left of and below the window.
void put_strips(Page& page, Vec2 low, const std::string& kit, const std::string& sheet, double window_width) {
  const Vec2 corner = low - Vec2{strip_mm, strip_mm};
  bar(page, {low.x + 2, corner.y + 8}, false);
  page.write({low.x + 2, corner.y + 2.5}, bar_words);
  bar(page, {corner.x + 9, low.y + 2}, true);
  page.write({corner.x + 5, low.y + 2}, shortened(bar_words, note_cap_mm, 170), note_cap_mm, Align::left, true);
  const double right = low.x + window_width;
  page.write({right, corner.y + 7.5},
             shortened(kit + ", 1:1" + (sheet.empty() ? "" : ", sheet " + sheet), note_cap_mm, window_width - 108),
             note_cap_mm, Align::right);
}

std::vector<std::string> side_words(bool from_below) {
  if (from_below)
    return {"SEEN FROM BELOW", "mirrored: hold it against the frame's UNDERSIDE, print towards you.",
            "The adapter plates bear on that face."};
  return {"SEEN FROM ABOVE", "lay it on the frame's UPPER face, print up.", "The adapter plates are below the frame."};
}

std::string kit_words(const Kit& kit) {
  return kit.name + " revision " + kit.revision;
}

struct Tiling {
  double width, height;  // of the page
  int across, down;
  int count() const { return across * down; }
};

constexpr double title_rows_mm = 15;

Tiling tiling(double width, double height, Vec2 size) {
  const double w = width - 2 * border_mm - strip_mm, h = height - 2 * border_mm - strip_mm - title_rows_mm;
  const auto pieces = [](double need, double have) {
    return need <= have ? 1 : 1 + static_cast<int>(std::ceil((need - have) / (have - template_overlap_mm)));
  };
  return {width, height, pieces(size.x, w), pieces(size.y, h)};
}

void put_title(Page& page, Vec2 at, bool from_below) {
  const std::vector<std::string> lines = side_words(from_below);
  page.write(at + Vec2{0, 9}, lines[0], 3.5);
  page.write(at + Vec2{0, 4.5}, lines[1]);
  page.write(at + Vec2{0, 0.5}, lines[2]);
}

}  // namespace

TemplateSheets template_sheets(const Kit& kit, const Layout& layout, bool from_below) {
  const Plan plan = plan_of(kit, layout, from_below);
  const Vec2 size = plan.high - plan.low;
  TemplateSheets sheets;
  Page& whole = sheets.whole;
  // Room for the bars even where the plan is small.
  const Vec2 window{std::max(size.x, 170.0), std::max(size.y, 180.0)};
  whole.width_mm = window.x + strip_mm + 2 * border_mm;
  whole.height_mm = window.y + strip_mm + 2 * border_mm + title_rows_mm;
  whole.name = kit_words(kit) + ": template, " + (from_below ? "seen from below" : "seen from above");
  const Vec2 corner{border_mm + strip_mm, border_mm + strip_mm};
  put(whole, plan, plan.low, plan.high, corner);
  put_strips(whole, corner, kit_words(kit), "", window.x);
  put_title(whole, {corner.x, corner.y + window.y + 1}, from_below);

  const Tiling upright = tiling(a4_short, a4_long, size), lying = tiling(a4_long, a4_short, size);
  const Tiling t = lying.count() <= upright.count() ? lying : upright;
  const Vec2 tile{t.width - 2 * border_mm - strip_mm, t.height - 2 * border_mm - strip_mm - title_rows_mm};
  const Vec2 step = tile - Vec2{template_overlap_mm, template_overlap_mm};
  // Spread evenly, so that no sheet holds a sliver.
  const Vec2 need{tile.x + (t.across - 1) * step.x, tile.y + (t.down - 1) * step.y};
  const Vec2 start = plan.low - 0.5 * (need - size);
  for (int row = t.down - 1; row >= 0; --row)
    for (int column = 0; column < t.across; ++column) {
      Page page;
      page.width_mm = t.width;
      page.height_mm = t.height;
      page.name = whole.name;
      const Vec2 low = start + Vec2{column * step.x, row * step.y};
      put(page, plan, low, low + tile, corner);
      page.rectangle(Pen::thin, corner, corner + tile);
      const int number = static_cast<int>(sheets.tiles.size()) + 1;
      put_strips(page, corner, kit_words(kit), std::to_string(number) + " of " + std::to_string(t.count()), tile.x);
      put_title(page, {corner.x, corner.y + tile.y + 1}, from_below);
      // Joining marks: the same crosses on both sheets, in the middle of where they overlap.
      const double inset = template_overlap_mm / 2;
      for (const double share : {0.25, 0.75}) {
        if (column > 0) page.rings.push_back({Pen::thin, corner + Vec2{inset, share * tile.y}, 2});
        if (column + 1 < t.across) page.rings.push_back({Pen::thin, corner + Vec2{tile.x - inset, share * tile.y}, 2});
        if (row > 0) page.rings.push_back({Pen::thin, corner + Vec2{share * tile.x, inset}, 2});
        if (row + 1 < t.down) page.rings.push_back({Pen::thin, corner + Vec2{share * tile.x, tile.y - inset}, 2});
      }
      const std::vector<Ring> marks = page.rings;
      for (const Ring& ring : marks) {
        page.line(Pen::thin, ring.centre - Vec2{4, 0}, ring.centre + Vec2{4, 0});
        page.line(Pen::thin, ring.centre - Vec2{0, 4}, ring.centre + Vec2{0, 4});
      }
      if (!marks.empty())
        page.write({corner.x + tile.x, corner.y + tile.y + 1.5}, "join where the ringed crosses meet", note_cap_mm,
                   Align::right);
      sheets.tiles.push_back(std::move(page));
    }
  return sheets;
}

Page template_page(const Kit& kit, const Layout& layout) {
  Page page = template_sheets(kit, layout, false).whole;
  const Page below = template_sheets(kit, layout, true).whole;
  const Vec2 shift{page.width_mm, 0};
  page.name = kit_words(kit) + ": template";
  for (Stroke s : below.strokes) {
    for (Vec2& p : s.points) p = p + shift;
    page.strokes.push_back(std::move(s));
  }
  for (Ring r : below.rings) r.centre = r.centre + shift, page.rings.push_back(r);
  for (Words w : below.words) w.at = w.at + shift, page.words.push_back(w);
  page.line(Pen::centre, {page.width_mm, 0}, {page.width_mm, page.height_mm});
  page.width_mm += below.width_mm;
  page.height_mm = std::max(page.height_mm, below.height_mm);
  return page;
}

}  // namespace bedwright
