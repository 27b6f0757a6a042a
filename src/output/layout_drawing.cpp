#include "output/layout_drawing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/markup.h"
#include "base/numbers.h"
#include "layout/heights.h"

namespace bedwright {
namespace {

// Paper, millimetres; y runs down, as in SVG.
constexpr double page_width = 297, page_height = 210, edge = 12, head = 16, foot = 12, between = 16;
constexpr double scales[] = {1, 2, 2.5, 4, 5, 10, 20};
constexpr double label_mm = 2.6;  // height of the small text
constexpr double room_mm = 14;    // of the machine, round what is drawn
constexpr double chord_mm = 0.1;

std::string n(double v) {
  return decimal(v, 2);
}

/// One view: machine coordinates (u to the right, v up) to paper.
struct PaperView {
  double left = 0, bottom = 0;  ///< paper place of (u0, v0)
  double u0 = 0, v0 = 0, scale = 1;
  double x(double u) const { return left + (u - u0) / scale; }
  double y(double v) const { return bottom - (v - v0) / scale; }
};

struct Extent {
  double low = 1e300, high = -1e300;
  void take(double v) {
    low = std::min(low, v);
    high = std::max(high, v);
  }
  double size() const { return high - low; }
};

class Sheet {
 public:
  void rectangle(const PaperView& v, double u0, double v0, double u1, double v1, const char* style) {
    body_ +=
        fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" {}/>\n", n(v.x(std::min(u0, u1))),
                    n(v.y(std::max(v0, v1))), n(std::fabs(u1 - u0) / v.scale), n(std::fabs(v1 - v0) / v.scale), style);
  }
  void polygon(const PaperView& v, const std::vector<Vec2>& points, const char* style) {
    std::string list;
    for (Vec2 p : points) list += (list.empty() ? "" : " ") + n(v.x(p.x)) + "," + n(v.y(p.y));
    body_ += fmt::format("<polygon points=\"{}\" {}/>\n", list, style);
  }
  void circle(const PaperView& v, Vec2 at, double radius, const char* style) {
    body_ += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>\n", n(v.x(at.x)), n(v.y(at.y)), n(radius / v.scale),
                         style);
  }
  void line(double x0, double y0, double x1, double y1, const char* style) {
    body_ += fmt::format("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" {}/>\n", n(x0), n(y0), n(x1), n(y1), style);
  }
  void text(double x, double y, const std::string& words, double size, const char* anchor = "start") {
    body_ += fmt::format("<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{}\">{}</text>\n", n(x), n(y), n(size),
                         anchor, escaped_markup(words));
  }
  std::string svg() const {
    return fmt::format(
               "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}mm\" height=\"{1}mm\" viewBox=\"0 0 {0} {1}\" "
               "font-family=\"sans-serif\">\n<rect width=\"{0}\" height=\"{1}\" fill=\"#fff\"/>\n",
               n(page_width), n(page_height)) +
           body_ + "</svg>\n";
  }

 private:
  std::string body_;
};

constexpr const char* thin = "fill=\"none\" stroke=\"#000\" stroke-width=\"0.2\"";
constexpr const char* base_style = "fill=\"#f0f0f0\" stroke=\"#000\" stroke-width=\"0.25\"";
constexpr const char* raised_style = "fill=\"#cfcfcf\" stroke=\"#000\" stroke-width=\"0.2\"";
constexpr const char* rail_style = "fill=\"#b0b0b0\" stroke=\"#000\" stroke-width=\"0.2\"";
constexpr const char* carriage_style = "fill=\"#808080\" stroke=\"#000\" stroke-width=\"0.2\"";
constexpr const char* plate_style = "fill=\"#e0e0e0\" fill-opacity=\"0.8\" stroke=\"#000\" stroke-width=\"0.3\"";
constexpr const char* bed_style = "fill=\"none\" stroke=\"#000\" stroke-width=\"0.3\" stroke-dasharray=\"4 1.5\"";
constexpr const char* travel_style = "fill=\"none\" stroke=\"#000\" stroke-width=\"0.15\" stroke-dasharray=\"1 1.5\"";
constexpr const char* keep_style = "fill=\"none\" stroke=\"#000\" stroke-width=\"0.2\" stroke-dasharray=\"0.6 0.8\"";
constexpr const char* lost_style = "fill=\"#fff\" stroke=\"#000\" stroke-width=\"0.2\"";
constexpr const char* screw_style = "fill=\"#000\"";
constexpr const char* ink = "stroke=\"#000\" stroke-width=\"0.2\"";

Vec2 bed_half(const Kit& kit) {
  return kit.bed ? 0.5 * kit.bed->size_mm : Vec2{};
}

class Drawing {
 public:
  Drawing(const Kit& kit, const Layout& layout, const std::vector<RailLine>& rails)
      : kit_(kit), layout_(layout), rails_(rails), heights_(height_plan(kit, layout)) {
    const double half = kit.rails.length_mm / 2, travel = layout.travel_needed_mm / 2;
    const Vec2 bed = bed_half(kit);
    for (const double side : {-1.0, 1.0}) {
      x_.take(side * (kit.rails.pitch_mm + std::max(kit.rails.size.width_mm, kit.carriages.size.width_mm)) / 2);
      x_.take(side * bed.x);
      y_.take(side * half);
      y_.take(side * (bed.y + travel));
    }
    const double face = base_face_mm(kit);
    z_.take(face - std::max(kit.base ? kit.base->thickness_mm : 0, 2.0));
    top_ = layout.height_mm + kit.frame.sheet_thickness_mm;
    z_.take(top_ + 2);
    if (heights_.bed) z_.take(face + heights_.bed->sum_mm());
    if (kit.base) {
      for (Vec2 p : kit.base->outline_mm) x_.take(p.x), y_.take(p.y);
      for (const BaseArea& a : kit.base->raised) z_.take(face + a.height_mm);
    }
    for (const Json& k : kit.keep_outs)
      for (const char* end : {"min_mm", "max_mm"})
        z_.take(std::clamp(k.at(end)[2].get<double>(), face - 30, top_ + 60));
    for (Extent* e : {&x_, &y_, &z_}) e->low -= room_mm, e->high += room_mm;
    settle_scale();
  }

  std::string svg() {
    sheet_.text(edge, edge, kit_.name + " revision " + kit_.revision + ": layout", 5);
    sheet_.text(page_width - edge, edge, "scale 1:" + decimal(scale_, 1) + ", millimetres", 4, "end");
    above();
    side();
    bar();
    return sheet_.svg();
  }

 private:
  void settle_scale() {
    for (const double s : scales) {
      scale_ = s;
      const bool wide = x_.size() / s + y_.size() / s + between + 2 * edge <= page_width;
      const bool high = std::max(y_.size(), z_.size()) / s + head + 8 + foot + edge <= page_height;
      if (wide && high) break;
    }
    const double bottom = head + 8 + std::max(y_.size(), z_.size()) / scale_;
    above_ = {edge, bottom, x_.low, y_.low, scale_};
    side_ = {edge + x_.size() / scale_ + between, head + 12 + z_.size() / scale_, y_.low, z_.low, scale_};
  }

  void above() {
    const PaperView& v = above_;
    sheet_.text(v.left, head + 4, "From above, the front below", 3.6);
    if (kit_.base) {
      sheet_.polygon(v, kit_.base->outline_mm, base_style);
      for (const BaseArea& o : kit_.base->openings)
        sheet_.rectangle(v, o.low.x, o.low.y, o.high.x, o.high.y, lost_style);
      for (const BaseArea& r : kit_.base->raised)
        sheet_.rectangle(v, r.low.x, r.low.y, r.high.x, r.high.y, raised_style);
    }
    const double half = kit_.rails.length_mm / 2, width = kit_.rails.size.width_mm / 2;
    for (const RailLine& rail : rails_) {
      for (const RailPad& p : rail.pads)
        sheet_.rectangle(v, rail.x_mm - width - 4, p.from_mm, rail.x_mm + width + 4, p.to_mm, raised_style);
      sheet_.rectangle(v, rail.x_mm - width, -half, rail.x_mm + width, half, rail_style);
      for (const RailScrew& s : rail.screws)
        sheet_.circle(v, {rail.x_mm, s.y_mm}, kit_.rails.size.hole_mm / 2, s.usable ? screw_style : lost_style);
    }
    const CarriageSize& c = kit_.carriages.size;
    for (const Placement& p : layout_.placements)
      sheet_.rectangle(v, p.at.x - c.width_mm / 2, p.at.y - c.length_mm / 2, p.at.x + c.width_mm / 2,
                       p.at.y + c.length_mm / 2, carriage_style);
    for (const PlateFootprint& plate : layout_.plates)
      for (const Placement& p : layout_.placements)
        if (p.id == plate.placement) {
          std::vector<Vec2> points = polygonised(plate.outline, chord_mm);
          for (Vec2& q : points) q = q + p.at;
          sheet_.polygon(v, points, plate_style);
        }
    for (const FrameHole& h : kit_.frame.holes) sheet_.circle(v, h.at_mm, h.diameter_mm / 2, thin);
    for (const FrameHole& h : kit_.frame.mounts) {
      sheet_.circle(v, h.at_mm, h.diameter_mm / 2, thin);
      sheet_.circle(v, h.at_mm, h.diameter_mm, thin);
    }
    for (const Json& k : kit_.keep_outs)
      sheet_.rectangle(v, k.at("min_mm")[0], k.at("min_mm")[1], k.at("max_mm")[0], k.at("max_mm")[1], keep_style);
    const Vec2 bed = bed_half(kit_);
    if (bed.x > 0) {
      sheet_.rectangle(v, -bed.x, -bed.y, bed.x, bed.y, bed_style);
      for (const double t : {-layout_.travel_needed_mm / 2, layout_.travel_needed_mm / 2})
        sheet_.rectangle(v, -bed.x, -bed.y + t, bed.x, bed.y + t, travel_style);
    }
    cross();
    dimension_across(v, -kit_.rails.pitch_mm / 2, kit_.rails.pitch_mm / 2, y_.low + 4,
                     "rail pitch " + decimal(kit_.rails.pitch_mm, 2));
    dimension_along(v, -layout_.carriage_spacing_mm / 2, layout_.carriage_spacing_mm / 2, x_.high - 4,
                    "spacing " + decimal(layout_.carriage_spacing_mm, 2));
  }

  void cross() {
    const double x = above_.x(0), y = above_.y(0);
    sheet_.line(x - 2, y, x + 2, y, ink);
    sheet_.line(x, y - 2, x, y + 2, ink);
  }

  void side() {
    const PaperView& v = side_;
    sheet_.text(v.left, head + 4, "From the right, the front on the left; dotted: the ends of the travel", 3.6);
    const double face = base_face_mm(kit_), half = kit_.rails.length_mm / 2,
                 foot_z = -kit_.carriages.size.assembly_height_mm;
    const double thick = kit_.base && kit_.base->thickness_mm > 0 ? kit_.base->thickness_mm : 2;
    const RailLine& rail = rails_.back();
    if (kit_.base) {
      for (const Span& s : backed_spans(*kit_.base, rail.x_mm, kit_.rails.size.width_mm / 2))
        sheet_.rectangle(v, s.from, face - thick, s.to, face, base_style);
      for (const BaseArea& r : kit_.base->raised)
        sheet_.rectangle(v, r.low.y, face, r.high.y, face + r.height_mm, raised_style);
    } else {
      sheet_.rectangle(v, -half, face - thick, half, face, base_style);
    }
    for (const RailPad& p : rail.pads)
      sheet_.rectangle(v, p.from_mm, face - thick, p.to_mm, foot_z, raised_style);
    sheet_.rectangle(v, -half, foot_z, half, foot_z + kit_.rails.size.height_mm, rail_style);
    const CarriageSize& c = kit_.carriages.size;
    for (const double t : {0.0, -layout_.travel_needed_mm / 2, layout_.travel_needed_mm / 2})
      for (const double end : {-0.5, 0.5}) {
        const double y = t + end * layout_.carriage_spacing_mm;
        sheet_.rectangle(v, y - c.length_mm / 2, foot_z + kit_.rails.size.height_mm / 2, y + c.length_mm / 2, 0,
                         t == 0 ? carriage_style : travel_style);
      }
    for (const PlateFootprint& plate : layout_.plates)
      for (const Placement& p : layout_.placements)
        if (p.id == plate.placement && p.at.x > 0) {
          const PlaneBox b = bounding_box(plate.outline);
          sheet_.rectangle(v, p.at.y + b.low.y, 0, p.at.y + b.high.y, plate.thickness_mm, plate_style);
        }
    frame_line();
    for (const Json& k : kit_.keep_outs)
      sheet_.rectangle(v, k.at("min_mm")[1], std::max(k.at("min_mm")[2].get<double>(), z_.low), k.at("max_mm")[1],
                       std::min(k.at("max_mm")[2].get<double>(), z_.high), keep_style);
    const Vec2 bed = bed_half(kit_);
    if (heights_.bed && bed.y > 0) {
      const double top = face + heights_.bed->sum_mm(), low = top - *kit_.bed->thickness_mm;
      sheet_.rectangle(v, -bed.y, low, bed.y, top, bed_style);
      for (const double t : {-layout_.travel_needed_mm / 2, layout_.travel_needed_mm / 2})
        sheet_.rectangle(v, -bed.y + t, low, bed.y + t, top, travel_style);
      sheet_.text(v.x(bed.y), v.y(top) - 1, "bed " + decimal(heights_.bed->sum_mm(), 2) + " above the base", label_mm,
                  "end");
    }
    dimension_across(v, -half, half, z_.low + 4, "rail " + decimal(kit_.rails.length_mm, 1));
  }

  /// The sheet along the right-hand holes, as far as its shape is known.
  void frame_line() {
    std::vector<Vec2> points;
    Extent along;
    for (const std::vector<FrameHole>* holes : {&kit_.frame.holes, &kit_.frame.mounts})
      for (const FrameHole& h : *holes) along.take(h.at_mm.y);
    constexpr int pieces = 24;
    for (int i = 0; i <= pieces; ++i) {
      const double y = along.low + along.size() * i / pieces;
      try {
        points.push_back({y, height_at(layout_.underside, {kit_.rails.pitch_mm / 2, y})});
      } catch (const Error&) {
        continue;  // beyond the points that were measured
      }
    }
    for (int i = static_cast<int>(points.size()) - 1; i >= 0; --i)
      points.push_back(points[static_cast<std::size_t>(i)] + Vec2{0, kit_.frame.sheet_thickness_mm});
    if (points.size() > 2) sheet_.polygon(side_, points, "fill=\"#fff\" stroke=\"#000\" stroke-width=\"0.25\"");
  }

  void dimension_across(const PaperView& v, double u0, double u1, double at, const std::string& words) {
    const double y = v.y(at);
    sheet_.line(v.x(u0), y, v.x(u1), y, ink);
    for (const double u : {u0, u1}) sheet_.line(v.x(u), y - 1.2, v.x(u), y + 1.2, ink);
    sheet_.text((v.x(u0) + v.x(u1)) / 2, y + label_mm + 0.6, words, label_mm, "middle");
  }

  void dimension_along(const PaperView& v, double v0, double v1, double at, const std::string& words) {
    const double x = v.x(at);
    sheet_.line(x, v.y(v0), x, v.y(v1), ink);
    for (const double w : {v0, v1}) sheet_.line(x - 1.2, v.y(w), x + 1.2, v.y(w), ink);
    sheet_.text(x + 1, v.y((v0 + v1) / 2), words, label_mm);
  }

  void bar() {
    const double y = page_height - edge + 2, length = 100 / scale_;
    sheet_.line(edge, y, edge + length, y, "stroke=\"#000\" stroke-width=\"0.5\"");
    for (const double x : {edge, edge + length})
      sheet_.line(x, y - 1.5, x, y + 1.5, "stroke=\"#000\" stroke-width=\"0.5\"");
    sheet_.text(edge + length + 2, y + 1,
                "100 mm: measure it on the paper. Filled dots: rail screws that hold; open: that do not. "
                "Dashed: bed. Dotted boxes: keep-outs.",
                3);
  }

  const Kit& kit_;
  const Layout& layout_;
  const std::vector<RailLine>& rails_;
  HeightPlan heights_;
  Extent x_, y_, z_;
  double top_ = 0, scale_ = 1;
  PaperView above_, side_;
  Sheet sheet_;
};

}  // namespace

std::string layout_drawing_svg(const Kit& kit, const Layout& layout, const std::vector<RailLine>& rails) {
  return Drawing(kit, layout, rails).svg();
}

}  // namespace bedwright
