#include "parts/bed_edges.h"

#include <algorithm>
#include <cmath>

#include "base/clipped.h"
#include "base/numbers.h"
#include "parts/features.h"

namespace bedwright {
namespace {

constexpr double beyond_mm = 0.25;  // of the cutter, off either face: an outline beside a base has little more room
constexpr double clear_mm = 1;      // of a strip, beyond the outline
constexpr double same_way = 1e-9;

Vec2 outward(const Curve& line) {
  const Vec2 d = line.end - line.start;
  return (1 / length(d)) * Vec2{d.y, -d.x};
}

/// Where material ends, and how far from there the seat begins.
struct Border {
  Vec2 at, out;
};

/// The seat without what lies near the borders; where its lowest place lay there, the thickness that the file must have
/// changes.
Feature without_borders(const Part& part, const Feature& whole, const std::vector<Border>& borders, double width_mm) {
  std::vector<Loop> left;
  bool changed = false;
  for (const Loop& loop : whole.profile) {
    std::vector<Vec2> points = polygonised(loop, part.chord_mm);
    bool reaches = false;
    for (const Border& b : borders) {
      if (std::all_of(points.begin(), points.end(), [&](Vec2 p) { return dot(b.at - p, b.out) >= width_mm; })) continue;
      reaches = true;
      points = clipped(points, b.at, b.out, width_mm);
    }
    if (!reaches)
      left.push_back(loop);
    else if (points.size() >= 3)
      left.push_back(polygon_loop(points));
    changed = changed || reaches;
  }
  if (!changed || left.empty()) return whole;
  Feature trimmed = seat(part.seat, left, left, part.chord_mm);
  for (Dimension& d : trimmed.dimensions)
    if (const Dimension* before = find_dimension(whole, d.quantity)) d.nominal_mm = before->nominal_mm;
  return trimmed;
}

}  // namespace

Feature bed_chamfer(const std::string& id, const BedEdge& edge) {
  Feature f;
  f.id = id;
  f.kind = FeatureKind::chamfer;
  f.effect = Effect::cut;
  f.along = edge.along;
  const Vec3 a = edge.out_a, b = edge.out_b;
  const auto plane = [&](double along_a, double along_b) {
    return in_plane(edge.along, edge.at + along_a * a + along_b * b);
  };
  const double reach = bed_chamfer_mm + beyond_mm;
  f.profile = {polygon_loop({plane(-reach, beyond_mm), plane(beyond_mm, beyond_mm), plane(beyond_mm, -reach)})};
  f.from = Bound::at(edge.from);
  f.to = Bound::at(edge.to);
  const Vec3 middle = edge.at + ((edge.from + edge.to) / 2 - along_axis(edge.along, edge.at)) * unit(edge.along);
  f.at = middle - (bed_chamfer_mm / 2) * (a + b);
  f.axis = std::sqrt(0.5) * (a + b);
  f.dimensions = {dimension("depth", bed_chamfer_mm, height_tolerance_mm)};
  return f;
}

Part with_eased_edge(const Part& part, Vec2 up, double width_mm) {
  const Feature& body = part.features.front();
  if (body.kind != FeatureKind::outline || body.profile.front().circle || body.chamfer_mm <= 0 ||
      body.to.kind == Bound::Kind::open)
    return part;
  const Curve* side = nullptr;
  for (const Curve& c : body.profile.front().curves)
    if (!c.arc && dot(outward(c), up) < same_way - 1) side = &c;
  if (!side) return part;
  const Vec2 out = -1 * up, along{-out.y, out.x};
  const PlaneBox box = bounding_box(body.profile.front());
  const double reach = length(box.high - box.low);
  Feature f;
  f.id = "bed-edge";
  f.kind = FeatureKind::chamfer;
  f.effect = Effect::cut;
  f.chamfer_mm = width_mm;
  const Vec2 middle = 0.5 * (side->start + side->end);
  const Vec2 low = middle - width_mm * out, high = middle + clear_mm * out;
  f.profile = {polygon_loop({low - reach * along, high - reach * along, high + reach * along, low + reach * along})};
  const double top = body.to.kind == Bound::Kind::flat ? body.to.z_mm : height_at(part.seat, middle);
  f.from = Bound::at(top - width_mm);
  f.to = Bound::open();
  f.at = {middle.x, middle.y, top};
  f.axis = std::sqrt(0.5) * Vec3{out.x, out.y, 1};
  f.dimensions = {dimension("depth", width_mm, part.chord_mm + height_tolerance_mm)};
  Part eased = part;
  for (Feature& own : eased.features)
    if (own.kind == FeatureKind::seat) own = without_borders(part, own, {{middle, out}}, width_mm);
  eased.features.push_back(std::move(f));
  eased.statements.push_back("it is printed on an edge, so its seat ends " + decimal(width_mm, 2) +
                             " mm before that edge, in a chamfer: first-layer flare would hold it off the frame");
  return eased;
}

Part with_eased_top(const Part& part) {
  const Feature& body = part.features.front();
  const bool level = part.seat.shape == SurfaceShape::plane && part.seat.slope == Vec2{};
  if (body.kind != FeatureKind::outline || body.profile.front().circle || body.chamfer_mm <= 0 ||
      body.to.kind == Bound::Kind::open || (body.to.kind == Bound::Kind::seat && !level))
    return part;
  const double top = body.to.kind == Bound::Kind::seat ? part.seat.height : body.to.z_mm;
  for (const Feature& f : part.features)
    if (&f != &body && f.effect == Effect::add && (f.to.kind != Bound::Kind::flat || f.to.z_mm >= top)) return part;
  Part eased = part;
  eased.features.front().to = Bound::at(top);
  eased.features.front().upper_chamfer = true;
  const std::vector<Vec2> corners = polygonised(body.profile.front(), part.chord_mm);
  std::vector<Border> borders;
  for (std::size_t i = 0; i < corners.size(); ++i) {
    Curve side;
    side.start = corners[i], side.end = corners[(i + 1) % corners.size()];
    borders.push_back({side.start, outward(side)});
  }
  for (Feature& own : eased.features)
    if (own.kind == FeatureKind::seat) own = without_borders(part, own, borders, body.chamfer_mm);
  eased.statements.push_back("it is printed upside down, so its upper edge has the chamfer of " +
                             decimal(body.chamfer_mm, 2) + " mm too: first-layer flare would hold it off the frame");
  return eased;
}

bool is_bed_edge(const Part& part, const std::string& id) {
  return std::any_of(part.features.begin(), part.features.end(),
                     [&](const Feature& f) { return f.kind == FeatureKind::chamfer && crosses(f) && f.id == id; });
}

Part without_features(Part part, const std::vector<std::string>& ids) {
  const auto named = [&](const Feature& f) { return std::find(ids.begin(), ids.end(), f.id) != ids.end(); };
  part.features.erase(std::remove_if(part.features.begin(), part.features.end(), named), part.features.end());
  return part;
}

}  // namespace bedwright
