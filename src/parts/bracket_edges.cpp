// An end bracket's edges on the print bed.
#include <algorithm>

#include "parts/bed_edges.h"
#include "parts/bracket_designer.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double least_edge_mm = 3;     // along a shorter edge the flare is a nib: scraped off at once
constexpr double before_wall_mm = 0.5;  // a chamfer ends so far before a corner that material goes round
constexpr double past_corner_mm = 0.7;  // and runs on so far past one that it does not
constexpr double past_round_mm = 2.5;   // or past the beginning of a round one: there the outline draws back by 0.8 mm
constexpr double probe_mm = 0.02;

/// A straight line of an outline; `out`: unit, to the side without material.
struct Line {
  Vec2 a, b, out;
  bool outer = false;  ///< the body's own outline, not the base's contour
};

bool is_along_axis(Vec2 way) {
  return std::fabs(way.x) < bracket_same_mm || std::fabs(way.y) < bracket_same_mm;
}

std::vector<Line> lines_of(const Loop& loop, bool outer) {
  std::vector<Line> lines;
  for (const Curve& c : loop.curves) {
    if (c.arc) continue;
    const Vec2 way = (1 / length(c.end - c.start)) * (c.end - c.start);
    const Vec2 right{way.y, -way.x};
    if (is_along_axis(way)) lines.push_back({c.start, c.end, outer ? right : -1 * right, outer});
  }
  return lines;
}

/// Shares of the line at which it passes the polygon's sides, ends included, ascending.
std::vector<double> cut_at(const Line& line, const std::vector<Vec2>& polygon) {
  std::vector<double> shares{0, 1};
  const Vec2 d = line.b - line.a;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec2 p = polygon[i], e = polygon[(i + 1) % polygon.size()] - p;
    const double turn = cross(d, e);
    if (std::fabs(turn) < bracket_same_mm) continue;
    const double t = cross(p - line.a, e) / turn, u = cross(p - line.a, d) / turn;
    if (t > 0 && t < 1 && u >= 0 && u <= 1) shares.push_back(t);
  }
  std::sort(shares.begin(), shares.end());
  return shares;
}

/// How far a chamfer runs on past p, where its line ends: less than nothing before a wall.
template <typename IsMaterial>
double run_on_mm(Vec2 p, Vec2 way, const Line& line, IsMaterial is_material) {
  const Vec2 beyond = p + probe_mm * way;
  const bool below = is_material(beyond - probe_mm * line.out), beside = is_material(beyond + probe_mm * line.out);
  if (!below && !beside) return past_corner_mm;
  return line.outer && !beside ? past_round_mm : -before_wall_mm;
}

}  // namespace

std::vector<Feature> BracketDesigner::bed_edges(const BracketHalf& half) const {
  if (up < 0 && plan.pad_height_mm > 0) return {};
  const Loop outline = body(half).profile.front();
  const std::vector<Vec2> edge = polygonised(outline, kit.tolerance.chord_mm);
  const auto is_material = [&](Vec2 p) { return contains(outline, p) && !contains(plan.inner, p); };
  std::vector<Line> lines = lines_of(outline, true);
  const std::vector<Line> contour = lines_of(plan.inner, false);
  lines.insert(lines.end(), contour.begin(), contour.end());
  std::vector<Feature> chamfers;
  for (const Line& line : lines) {
    const std::vector<double> shares = cut_at(line, line.outer ? inner : edge);
    const Vec2 way = (1 / length(line.b - line.a)) * (line.b - line.a);
    for (std::size_t i = 0; i + 1 < shares.size(); ++i) {
      const Vec2 a = line.a + shares[i] * (line.b - line.a), b = line.a + shares[i + 1] * (line.b - line.a);
      const Vec2 middle = 0.5 * (a + b);
      if (length(b - a) < least_edge_mm || !is_material(middle - probe_mm * line.out) ||
          is_material(middle + probe_mm * line.out))
        continue;
      const Vec2 from = a - run_on_mm(a, -1 * way, line, is_material) * way,
                 to = b + run_on_mm(b, way, line, is_material) * way;
      BedEdge bed;
      bed.along = std::fabs(way.x) > 0.5 ? Along::x : Along::y;
      bed.from = bed.along == Along::x ? std::min(from.x, to.x) : std::min(from.y, to.y);
      bed.to = bed.along == Along::x ? std::max(from.x, to.x) : std::max(from.y, to.y);
      bed.at = {middle.x, middle.y, up > 0 ? 0 : top};
      bed.out_a = {line.out.x, line.out.y, 0};
      bed.out_b = {0, 0, -up};
      chamfers.push_back(bed_chamfer("bed-edge-" + std::to_string(chamfers.size() + 1), bed));
    }
  }
  return chamfers;
}

}  // namespace bedwright
