#include "checks/measured_grip.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/trig.h"
#include "kit/hardware.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

constexpr int ring_points = 32;
constexpr double beside_mm = 0.4;  // off a hole's rim
constexpr double end_slack_mm = 1e-3;

/// The file's facets near a hole's axis, part frame, turned so that the axis is z.
class Near {
 public:
  Near(const KnownPart& p, const Feature& hole, Vec2 axis, double reach) {
    const Mesh& mesh = p.measured->mesh;
    // What lies beyond the hole's ends is another wall of the part.
    if (crosses(hole) && hole.from.kind == Bound::Kind::flat) low_ = hole.from.z_mm;
    if (crosses(hole) && hole.to.kind == Bound::Kind::flat) high_ = hole.to.z_mm;
    const auto turned = [&](std::uint32_t v) {
      const Vec3 q = apply(p.print_to_part, mesh.vertices[v]);
      const Vec2 plane = in_plane(hole.along, q);
      return Vec3{plane.x, plane.y, along_axis(hole.along, q)};
    };
    for (const auto& t : mesh.triangles) {
      Triangle c{turned(t[0]), turned(t[1]), turned(t[2])};
      const double low_x = std::min({c.a.x, c.b.x, c.c.x}), high_x = std::max({c.a.x, c.b.x, c.c.x});
      const double low_y = std::min({c.a.y, c.b.y, c.c.y}), high_y = std::max({c.a.y, c.b.y, c.c.y});
      if (low_x <= axis.x + reach && high_x >= axis.x - reach && low_y <= axis.y + reach && high_y >= axis.y - reach)
        facets_.push_back(c);
    }
  }

  struct Ends {
    double low = 0, high = 0;
  };
  /// Lowest and highest face over p; nothing beside the part.
  std::optional<Ends> at(Vec2 p) const {
    std::optional<Ends> ends;
    for (const Triangle& t : facets_) {
      const Vec2 a{t.a.x - p.x, t.a.y - p.y}, b{t.b.x - p.x, t.b.y - p.y}, c{t.c.x - p.x, t.c.y - p.y};
      const double u = cross(b, c), v = cross(c, a), w = cross(a, b), whole = u + v + w;
      if (whole == 0 || !((u >= 0 && v >= 0 && w >= 0) || (u <= 0 && v <= 0 && w <= 0))) continue;
      const double z = (u * t.a.z + v * t.b.z + w * t.c.z) / whole;
      if (z < low_ - end_slack_mm || z > high_ + end_slack_mm) continue;
      if (!ends)
        ends = Ends{z, z};
      else
        ends = Ends{std::min(ends->low, z), std::max(ends->high, z)};
    }
    return ends;
  }

 private:
  struct Triangle {
    Vec3 a, b, c;
  };
  std::vector<Triangle> facets_;
  double low_ = -1e300, high_ = 1e300;
};

struct Ring {
  int points = 0;
  double low = 0, high = 0;              ///< means
  double least_high = 0, most_high = 0;  ///< of the upper face
};

Ring ring_round(const Near& near, Vec2 axis, double radius) {
  Ring ring;
  for (int k = 0; k < ring_points; ++k) {
    // Half a step off the axes, where facets' edges would be met.
    const double angle = 2 * pi * (k + 0.5) / ring_points;
    const auto ends = near.at(axis + radius * Vec2{cos_rad(angle), sin_rad(angle)});
    if (!ends) continue;
    ring.least_high = ring.points ? std::min(ring.least_high, ends->high) : ends->high;
    ring.most_high = ring.points ? std::max(ring.most_high, ends->high) : ends->high;
    ring.low += ends->low;
    ring.high += ends->high;
    ++ring.points;
  }
  if (ring.points) ring.low /= ring.points, ring.high /= ring.points;
  return ring;
}

const Feature* hole_of(const Part& part, const Joint& joint) {
  for (const Feature& f : part.features)
    if (joint.id == part.id + "-" + f.id) return &f;
  return nullptr;
}

const Feature* pocket_at(const Part& part, const Feature& hole) {
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::insert_pocket && f.at.x == hole.at.x && f.at.y == hole.at.y) return &f;
  return nullptr;
}

double width_of(const Feature& f) {
  const Dimension* d = find_dimension(f, "width");
  if (!d) d = find_dimension(f, "diameter");
  return d ? d->modelled_mm : 0;
}

}  // namespace

Joint with_measured_grip(const Kit& kit, const KnownPart& p, Joint joint) {
  const Feature* hole = hole_of(*p.part, joint);
  if (!p.measured || !hole || joint.layers.empty()) return joint;
  // The part's own layer; of two halves the first.
  auto own = std::find_if(joint.layers.begin(), joint.layers.end(),
                          [&](const JointLayer& l) { return l.name == p.part->id; });
  JointLayer& layer = own == joint.layers.end() ? joint.layers.back() : *own;
  const Vec2 axis = in_plane(hole->along, hole->at);
  const double rim = width_of(*hole) / 2;
  if (const Feature* pocket = pocket_at(*p.part, *hole)) {
    const double wide = width_of(*pocket) / 2 + beside_mm;
    const Near near(p, *hole, axis, wide);
    // Round the axis the seat's slope cancels, so the mean is its height there, but for the bow of a few micrometres.
    const Ring seat = ring_round(near, axis, rim + beside_mm), end = ring_round(near, axis, wide);
    if (seat.points < ring_points || end.points < ring_points) return joint;
    layer.mm = seat.high - (end.low + plate_settings(kit, *p.part).insert.length_mm);
    return joint;
  }
  const CapScrew* head = find_cap_screw(joint.thread);
  if (!head) return joint;
  const double under = (rim + head->head_diameter_mm / 2) / 2;
  const Ring ring = ring_round(Near(p, *hole, axis, under), axis, under);
  if (ring.points < ring_points / 4) return joint;
  layer.mm = (ring.least_high + ring.most_high) / 2 - ring.low;
  layer.plus_minus_mm += (ring.most_high - ring.least_high) / 2;
  return joint;
}

}  // namespace bedwright
