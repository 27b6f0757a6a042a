#include "output/contour_report.h"

#include <algorithm>
#include <cmath>

#include "base/markup.h"
#include "base/numbers.h"
#include "base/trig.h"

namespace bedwright {
namespace {

using Json = nlohmann::json;

// A4 page, mm.
constexpr double page_width = 210, page_height = 297, margin = 16, drawing_top = 34, drawing_height = 236;
constexpr std::size_t most_dots = 1500;
constexpr std::size_t listed_pieces = 200;

double rounded(double v) {
  return std::round(v * 1e4) / 1e4 + 0.0;
}
Json pair(Vec2 p) {
  return Json::array({rounded(p.x), rounded(p.y)});
}
std::string place(Vec2 p) {
  return decimal(p.x, 2) + ", " + decimal(p.y, 2);
}
double arc_deg(const Curve& c) {
  return std::fabs(span_of(c).sweep) / rad_per_deg;
}
double length_of(const Curve& c) {
  return c.arc ? std::fabs(span_of(c).sweep) * c.radius : length(c.end - c.start);
}
bool whole_circle(const Contour& c) {
  return c.closed && std::all_of(c.curves.begin(), c.curves.end(), [&](const Curve& piece) {
    return piece.arc && std::fabs(piece.radius - c.curves.front().radius) < 1e-9 &&
           length(piece.centre - c.curves.front().centre) < 1e-9;
  });
}

/// Points along a curve, its start included, its end not.
void follow(const Curve& c, std::vector<Vec2>& points) {
  points.push_back(c.start);
  if (!c.arc) return;
  const ArcSpan span = span_of(c);
  const double step = 2 * acos_rad(std::max(0.0, 1 - handed_chord_mm / c.radius));
  const int pieces = std::max(1, static_cast<int>(std::ceil(std::fabs(span.sweep) / step)));
  for (int i = 1; i < pieces; ++i) {
    const double a = span.from + span.sweep * i / pieces;
    points.push_back(c.centre + c.radius * Vec2{cos_rad(a), sin_rad(a)});
  }
}

}  // namespace

Json contour_document(const ContourReport& r) {
  Json pieces = Json::array();
  for (const Curve& c : r.contour.curves) {
    Json piece = {{"from_mm", pair(c.start)}, {"to_mm", pair(c.end)}, {"length_mm", rounded(length_of(c))}};
    piece["kind"] = c.arc ? "arc" : "line";
    if (c.arc) {
      piece["centre_mm"] = pair(c.centre);
      piece["radius_mm"] = rounded(c.radius);
      piece["turns"] = c.ccw ? "left" : "right";
      piece["sweep_deg"] = rounded(arc_deg(c));
    }
    pieces.push_back(piece);
  }
  return {{"format", "bedwright/contour/1"},
          {"source", r.source},
          {"plane", r.plane},
          {"within_mm", r.tolerance_mm},
          {"closed", r.contour.closed},
          {"circle", whole_circle(r.contour)},
          {"points", r.outline.points.size()},
          {"dropped", r.outline.dropped},
          {"other_chains", r.other_chains},
          {"deviation_mm", rounded(r.contour.deviation_mm)},
          {"tangent_joints", r.contour.tangent_joints},
          {"pieces", pieces}};
}

std::string contour_text(const ContourReport& r) {
  const Contour& c = r.contour;
  std::string text = r.source + (r.plane.empty() ? "" : ", cut at " + r.plane) + ": " +
                     (c.closed ? "a closed outline" : "an open profile") + " of " +
                     std::to_string(r.outline.points.size()) + " points";
  if (r.outline.dropped > 0) text += "; " + std::to_string(r.outline.dropped) + " doubles, spikes or strays left out";
  text += "\n";
  if (r.other_chains > 0)
    text += std::to_string(r.other_chains) + " shorter chains of the same cut (holes, other bodies) are not followed\n";
  if (whole_circle(c)) {
    text += "A circle of diameter " + decimal(2 * c.curves.front().radius, 3) + " about " +
            place(c.curves.front().centre) + "\n";
  } else {
    text += std::to_string(c.curves.size()) + " pieces, every point within " + decimal(c.deviation_mm, 3) + " of " +
            decimal(r.tolerance_mm, 3) + " mm\n";
    std::size_t number = 0;
    for (const Curve& piece : c.curves) {
      if (++number > listed_pieces) {
        text += "  and " + std::to_string(c.curves.size() - listed_pieces) + " more: see --json\n";
        break;
      }
      text += "  " + std::to_string(number) + (piece.arc ? "  arc   " : "  line  ") + place(piece.start) + "  to  " +
              place(piece.end);
      text += piece.arc ? "  radius " + decimal(piece.radius, 2) + " about " + place(piece.centre) + ", " +
                              decimal(arc_deg(piece), 1) + " degrees to the " + (piece.ccw ? "left" : "right")
                        : "  length " + decimal(length_of(piece), 2);
      text += "\n";
    }
  }
  return text;
}

std::string contour_points(const ContourReport& r) {
  std::vector<Vec2> points;
  for (const Curve& c : r.contour.curves) follow(c, points);
  if (!r.contour.closed && !r.contour.curves.empty()) points.push_back(r.contour.curves.back().end);
  std::string text = "# outline in order, written by bedwright contour\nx_mm,y_mm\n";
  for (Vec2 p : points) text += decimal(p.x, 4) + "," + decimal(p.y, 4) + "\n";
  return text;
}

std::string contour_svg(const ContourReport& r) {
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  for (Vec2 p : r.outline.points) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  const double scale = std::min((page_width - 2 * margin) / std::max(high.x - low.x, 1e-9),
                                drawing_height / std::max(high.y - low.y, 1e-9));
  const auto x = [&](Vec2 p) { return decimal(margin + scale * (p.x - low.x), 3); };
  const auto y = [&](Vec2 p) { return decimal(drawing_top + scale * (high.y - p.y), 3); };
  std::string body, path;
  for (const Curve& c : r.contour.curves) {
    path += "M" + x(c.start) + " " + y(c.start);
    const std::string radius = decimal(scale * c.radius, 3);
    // The page's y runs down: what turns left in the frame turns left on the page when seen, and has sweep 0.
    path += c.arc ? "A" + radius + " " + radius + " 0 " + (arc_deg(c) > 180 ? "1 " : "0 ") + (c.ccw ? "0 " : "1 ") +
                        x(c.end) + " " + y(c.end)
                  : "L" + x(c.end) + " " + y(c.end);
  }
  const std::size_t every = r.outline.points.size() / most_dots + 1;
  for (std::size_t i = 0; i < r.outline.points.size(); i += every)
    body += "<circle class=\"point\" cx=\"" + x(r.outline.points[i]) + "\" cy=\"" + y(r.outline.points[i]) +
            "\" r=\"0.5\"/>\n";
  body += "<path class=\"curve\" d=\"" + path + "\"/>\n";
  for (const Curve& c : r.contour.curves) {
    body += "<circle class=\"joint\" cx=\"" + x(c.start) + "\" cy=\"" + y(c.start) + "\" r=\"0.9\"/>\n";
    if (!c.arc || scale * length_of(c) < 3) continue;
    const ArcSpan span = span_of(c);
    const double a = span.from + span.sweep / 2;
    const Vec2 middle = c.centre + (c.radius - 4 / scale) * Vec2{cos_rad(a), sin_rad(a)};
    body += "<text text-anchor=\"middle\" x=\"" + x(middle) + "\" y=\"" + y(middle) + "\">R" + decimal(c.radius, 2) +
            "</text>\n";
  }
  const std::string head = r.source + (r.plane.empty() ? "" : ", cut at " + r.plane) + ": " +
                           std::to_string(r.contour.curves.size()) + " pieces within " + decimal(r.tolerance_mm, 3) +
                           " mm; " + decimal(high.x - low.x, 2) + " x " + decimal(high.y - low.y, 2) + " mm";
  return "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"" +
         decimal(page_width, 0) + "mm\" height=\"" + decimal(page_height, 0) + "mm\" viewBox=\"0 0 " +
         decimal(page_width, 0) + " " + decimal(page_height, 0) +
         "\">\n<style>text{font:3px sans-serif}.point{fill:#888}.curve{fill:none;stroke:#000;stroke-width:0.35}"
         ".joint{fill:#fff;stroke:#000;stroke-width:0.3}</style>\n<rect width=\"100%\" height=\"100%\" "
         "fill=\"#fff\"/>\n<text x=\"" +
         decimal(margin, 0) + "\" y=\"18\">" + escaped_markup(head) + "</text>\n<text x=\"" + decimal(margin, 0) +
         "\" y=\"23\">Grey: the points. Black: lines and arcs; rings where they join. Scale " + decimal(scale, 3) +
         " : 1.</text>\n" + body + "</svg>\n";
}

}  // namespace bedwright
