#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

constexpr double least_height_of_bar_mm = 12;
/// The edge is a polygon that strays this much from the true curve: under the thinnest feeler leaf, and far enough for
/// three corners in a row to make a triangle of more than 0.01 mm.
constexpr double edge_chord_mm = 0.005;
constexpr int samples = 1000;

/// As few of the points as keep every left-out one within edge_chord_mm of the edge over it.
std::vector<Vec2> thinned(const std::vector<Vec2>& points) {
  std::vector<Vec2> kept{points.front()};
  const auto fits = [&](std::size_t from, std::size_t to) {
    const Vec2 a = points[from], b = points[to];
    for (std::size_t k = from + 1; k < to; ++k)
      if (std::fabs(a.y + (b.y - a.y) * (points[k].x - a.x) / (b.x - a.x) - points[k].y) > edge_chord_mm) return false;
    return true;
  };
  for (std::size_t from = 0; from + 1 < points.size();) {
    std::size_t to = from + 1;
    while (to + 1 < points.size() && fits(from, to + 1)) ++to;
    kept.push_back(points[to]);
    from = to;
  }
  return kept;
}

}  // namespace

std::vector<Part> derive_dome_template(const Kit& kit, const Layout& layout, const PartRequest& request) {
  const Json& settings = request.settings;
  const double length = settings.at("length_mm").get<double>(), thickness = settings.at("thickness_mm").get<double>();
  const bool along_x = settings.at("along") == "x";
  const double offset = settings.at("offset_mm").get<double>();
  const Surface& surface = layout.underside;
  const auto point = [&](double s) { return along_x ? Vec2{s, offset} : Vec2{offset, s}; };
  std::vector<Vec2> edge;
  double low = 1e300, high = -1e300;
  try {
    for (int i = samples; i >= 0; --i) {  // from +X to -X: counter-clockwise
      const double s = length * (static_cast<double>(i) / samples - 0.5), z = height_at(surface, point(s));
      edge.push_back({s, z});
      low = std::min(low, z);
      high = std::max(high, z);
    }
    edge = thinned(edge);
  } catch (const Error&) {
    throw CannotBuild("dome-template-short", request.id + ": the line runs off the frame's surface",
                      "make length_mm or offset_mm smaller", {"outline"});
  }
  const double middle = (least_height_of_bar_mm + high - low) / 2;
  for (Vec2& p : edge) p.y += least_height_of_bar_mm - low - middle;
  edge.push_back({-length / 2, -middle});
  edge.push_back({length / 2, -middle});
  const Loop outline = polygon_loop(edge);
  // Its edge is the gauge: the outline's compensation is not applied, and it is said.
  Part part = flat_body(kit, request, outline, outline, thickness, LowerEdge::sharp);
  part.statements.push_back("curved edge: the sheet's underside along " + std::string(along_x ? "X" : "Y") + " at " +
                            decimal(offset, 1) + " mm from the middle; it rises " + decimal(high - low, 3) +
                            " mm over " + decimal(length, 1) +
                            " mm. Hold it under the sheet against the light: a gap in the middle or at the ends says "
                            "that the dome in the kit is not this dome");
  part.statements.push_back("made without the printer's outline compensation: both ends of the edge shift alike");
  return {part};
}

}  // namespace bedwright
