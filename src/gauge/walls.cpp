#include "gauge/walls.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/trig.h"
#include "gauge/fit_circle.h"

namespace bedwright {
namespace {

constexpr double same_direction_sine = 2e-3;
constexpr double least_slot_arc = 110 * rad_per_deg;  // an eight-sided end loses half a facet to each straight wall
constexpr std::size_t least_cone_facets = 8;

/// Where a wall ends and what it meets there.
struct WallEnd {
  double mean = 0;                        ///< along the axis, weighted by the edge's length across it
  double convex_share = 0;                ///< of that length: edges of the material (the wall is open there)
  std::vector<std::uint32_t> neighbours;  ///< patches beyond, ascending
};
struct WallEnds {
  WallEnd low, high;
};

WallEnds ends_of(const Faces& faces, Vec3 axis, const std::vector<std::uint32_t>& members) {
  WallEnds ends;
  double low_sum = 0, high_sum = 0;
  const auto is_member = [&](std::uint32_t p) { return std::binary_search(members.begin(), members.end(), p); };
  for (std::uint32_t p : members) {
    const Patch& patch = faces.patches.patches[p];
    for (std::uint32_t i = patch.first_border; i < patch.first_border + patch.borders; ++i) {
      const std::uint32_t h = faces.patches.borders[i], across = faces.topology.other[h];
      const std::uint32_t to = across == no_edge ? no_patch : faces.patches.of_facet[facet_of(across)];
      if (to != no_patch && is_member(to)) continue;
      const Vec3 a = faces.mesh.vertices[start_of(faces.mesh, h)], b = faces.mesh.vertices[end_of(faces.mesh, h)];
      const Vec3 edge = b - a;
      const double width = length(cross(edge, axis));
      if (width < 0.2 * length(edge)) continue;  // a border that runs along the wall
      // The facet lies to the left of its border, seen from outside.
      const bool at_low = dot(cross(patch.normal, edge), axis) > 0;
      WallEnd& end = at_low ? ends.low : ends.high;
      (at_low ? low_sum : high_sum) += width;
      end.mean += width * 0.5 * (dot(a, axis) + dot(b, axis));
      if (to == no_patch) continue;
      if (dot(cross(patch.normal, faces.patches.patches[to].normal), edge) > 0) end.convex_share += width;
      end.neighbours.push_back(to);
    }
  }
  for (auto [end, sum] : {std::pair<WallEnd*, double>{&ends.low, low_sum}, {&ends.high, high_sum}}) {
    if (sum > 0) {
      end->mean /= sum;
      end->convex_share /= sum;
    }
    std::sort(end->neighbours.begin(), end->neighbours.end());
    end->neighbours.erase(std::unique(end->neighbours.begin(), end->neighbours.end()), end->neighbours.end());
  }
  return ends;
}

/// Those on the patches' borders, ascending: within a patch nothing lies farther out, but for tolerance_mm.
std::vector<std::uint32_t> border_vertices(const Faces& faces, const std::vector<std::uint32_t>& patches) {
  std::vector<std::uint32_t> out;
  for (std::uint32_t p : patches) {
    const Patch& patch = faces.patches.patches[p];
    for (std::uint32_t i = patch.first_border; i < patch.first_border + patch.borders; ++i)
      out.push_back(start_of(faces.mesh, faces.patches.borders[i]));
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

void add_facets(const Faces& faces, const std::vector<std::uint32_t>& patches, MeasuredFeature& f) {
  for (std::uint32_t p : patches) {
    const Patch& patch = faces.patches.patches[p];
    f.area_mm2 += patch.area_mm2;
    for (std::uint32_t i = patch.first_facet; i < patch.first_facet + patch.facets; ++i)
      f.facets.push_back(faces.patches.facets[i]);
  }
  std::sort(f.facets.begin(), f.facets.end());
}

/// The facets as lines across the axis, normals toward the axis for holes.
std::vector<WallLine> lines_of(const Faces& faces, const AxisFrame& frame, const std::vector<std::uint32_t>& patches) {
  std::vector<WallLine> lines;
  for (std::uint32_t p : patches) {
    const Patch& patch = faces.patches.patches[p];
    const Vec2 n = frame.flat(patch.normal);
    const double l = length(n);
    // The outermost vertex decides, and is on the border: a pin must pass everything.
    double offset = -1e300;
    for (std::uint32_t i = patch.first_border; i < patch.first_border + patch.borders; ++i) {
      const Vec3 at = faces.mesh.vertices[start_of(faces.mesh, faces.patches.borders[i])];
      offset = std::max(offset, dot((1 / l) * n, frame.flat(at)));
    }
    lines.push_back({(1 / l) * n, offset});
  }
  return lines;
}

/// Sets low, high, depth, axis, at and through of a hole-like (or boss-like) feature whose centre line passes `point`.
void set_ends(const WallEnds& ends, Vec3 upward_axis, Vec3 point, bool is_hole, MeasuredFeature& f) {
  f.low_mm = ends.low.mean;
  f.high_mm = ends.high.mean;
  f.depth_mm = f.high_mm - f.low_mm;
  const bool low_open = ends.low.convex_share > 0.5, high_open = ends.high.convex_share > 0.5;
  f.through = is_hole && low_open && high_open;
  bool up = high_open;
  if (!is_hole && low_open && high_open) up = true;
  if (!low_open && !high_open) up = ends.high.convex_share >= ends.low.convex_share;
  f.axis = up ? upward_axis : -upward_axis;
  const Vec3 foot = point - dot(point, upward_axis) * upward_axis;
  f.at = foot + (up ? f.high_mm : f.low_mm) * upward_axis;
}

/// Pieces of one round wall that a notch parted become one again.
void join_parted(std::vector<Cylinder>& cylinders, double tolerance) {
  for (std::size_t i = 0; i < cylinders.size(); ++i)
    for (std::size_t k = i + 1; k < cylinders.size();) {
      Cylinder &a = cylinders[i], &b = cylinders[k];
      const bool alike = a.concave == b.concave && std::fabs(a.vertex_radius - b.vertex_radius) < 10 * tolerance &&
                         length(cross(a.axis, b.axis)) < same_direction_sine &&
                         length(cross(b.point - a.point, a.axis)) < 10 * tolerance &&
                         tolerance < std::min(a.high, b.high) - std::max(a.low, b.low);
      if (!alike) {
        ++k;
        continue;
      }
      a.patches.insert(a.patches.end(), b.patches.begin(), b.patches.end());
      std::sort(a.patches.begin(), a.patches.end());
      a.coverage_rad = std::min(2 * pi, a.coverage_rad + b.coverage_rad);
      a.low = std::min(a.low, b.low);
      a.high = std::max(a.high, b.high);
      a.full = a.coverage_rad > 355 * rad_per_deg && a.patches.size() >= 8;
      cylinders.erase(cylinders.begin() + static_cast<std::ptrdiff_t>(k));
    }
}

/// Patches not yet taken that these of a hole (or of a boss) run into over an edge along the axis, turning on by less
/// than 50 degrees. Ascending.
std::vector<std::uint32_t> next_along(const Faces& faces, const std::vector<std::uint32_t>& patches, Vec3 axis,
                                      bool concave, const std::vector<std::uint8_t>& taken) {
  std::vector<std::uint32_t> out;
  for (std::uint32_t p : patches) {
    const Patch& patch = faces.patches.patches[p];
    for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links; ++i) {
      const Link& link = faces.patches.links[i];
      if (!taken[link.to] && link.convex != concave && link.angle_rad < 50 * rad_per_deg &&
          length(cross(link.along, axis)) < 0.01)
        out.push_back(link.to);
    }
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

/// The two faces that close a round wall's gap with a ridge along it: the point of a teardrop.
struct Roof {
  std::vector<std::uint32_t> patches;
  Vec2 ridge{};
};

/// Of faces on either side the first two that meet in such a ridge.
std::optional<Roof> roof_of(const Faces& faces, Vec3 axis, const std::vector<std::uint32_t>& one,
                            const std::vector<std::uint32_t>& other_side) {
  const AxisFrame frame(axis);
  for (std::uint32_t a : one) {
    const Patch& patch = faces.patches.patches[a];
    for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links; ++i) {
      const Link& link = faces.patches.links[i];
      if (link.to == a || link.convex || length(cross(link.along, axis)) >= 0.01) continue;
      if (!std::binary_search(other_side.begin(), other_side.end(), link.to)) continue;
      const Patch& other = faces.patches.patches[link.to];
      const Vec2 n = frame.flat(patch.normal), m = frame.flat(other.normal);
      const double d = cross(n, m);
      if (std::fabs(d) < same_direction_sine) continue;
      return Roof{{std::min(a, link.to), std::max(a, link.to)},
                  {(patch.offset * m.y - other.offset * n.y) / d, (n.x * other.offset - m.x * patch.offset) / d}};
    }
  }
  return std::nullopt;
}

std::optional<Roof> roof_over(const Faces& faces, const Cylinder& c, const std::vector<std::uint8_t>& taken) {
  std::vector<std::uint32_t> beside;
  for (std::uint32_t p : c.patches) {
    const Patch& patch = faces.patches.patches[p];
    for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links; ++i) {
      const Link& link = faces.patches.links[i];
      if (!taken[link.to] && !link.convex && length(cross(link.along, c.axis)) < 0.01) beside.push_back(link.to);
    }
  }
  std::sort(beside.begin(), beside.end());
  beside.erase(std::unique(beside.begin(), beside.end()), beside.end());
  return roof_of(faces, c.axis, beside, beside);
}

bool face_each_other(const Faces& faces, std::uint32_t a, std::uint32_t b) {
  return dot(faces.patches.patches[a].normal, faces.patches.patches[b].normal) < -0.9999;
}

/// What joins the round ends of a long hole: two straight walls that face each other (or apart), or one wall and a roof
/// opposite.
struct Joined {
  std::vector<std::uint32_t> walls;
  std::optional<Roof> roof;
};
std::optional<Joined> joined_ends(const Faces& faces, const Cylinder& a, const Cylinder& b,
                                  const std::vector<std::uint8_t>& taken) {
  const std::vector<std::uint32_t> na = next_along(faces, a.patches, a.axis, a.concave, taken),
                                   nb = next_along(faces, b.patches, b.axis, b.concave, taken);
  Joined joined;
  std::set_intersection(na.begin(), na.end(), nb.begin(), nb.end(), std::back_inserter(joined.walls));
  if (joined.walls.size() == 2) {
    if (!face_each_other(faces, joined.walls[0], joined.walls[1])) return std::nullopt;
    return joined;
  }
  if (joined.walls.size() != 1 || !a.concave) return std::nullopt;
  joined.roof = roof_of(faces, a.axis, na, nb);
  if (!joined.roof) return std::nullopt;
  const Vec3 up = faces.patches.patches[joined.walls[0]].normal;
  for (std::uint32_t p : joined.roof->patches)
    if (p == joined.walls[0] || dot(faces.patches.patches[p].normal, up) > 0) return std::nullopt;
  return joined;
}

/// Between two lines that face each other.
double width_between(const std::vector<WallLine>& sides) {
  return -(sides[0].offset + sides[1].offset);
}

double pin_at(const std::vector<WallLine>& lines, Vec2 centre) {
  double least = 1e300;
  for (const WallLine& l : lines) least = std::min(least, dot(l.normal, centre) - l.offset);
  return least;
}

void name_long(const Faces& faces, const AxisFrame& frame, Vec2 middle, Vec2 along, const std::optional<Roof>& roof,
               std::vector<std::uint32_t> members, MeasuredFeature& f, std::vector<std::uint8_t>& taken) {
  if (roof) {
    members.insert(members.end(), roof->patches.begin(), roof->patches.end());
    const Vec2 way = roof->ridge - middle;
    f.point_mm = length(way);
    f.point = frame.space((1 / f.point_mm) * way, 0);
  }
  std::sort(members.begin(), members.end());
  f.along = upward(frame.space(along, 0));
  f.angle_deg = 360;
  f.radius_mm = 0;
  set_ends(ends_of(faces, frame.axis, members), frame.axis, frame.space(middle, 0), f.concave, f);
  add_facets(faces, members, f);
  for (std::uint32_t p : members) taken[p] = 1;
}

std::optional<MeasuredFeature> long_hole(const Faces& faces, const Cylinder& a, const Cylinder& b,
                                         std::vector<std::uint8_t>& taken) {
  if (a.full || b.full || a.concave != b.concave) return std::nullopt;
  if (a.coverage_rad < least_slot_arc || b.coverage_rad < least_slot_arc) return std::nullopt;
  if (std::fabs(a.vertex_radius - b.vertex_radius) > 20 * faces.patches.tolerance_mm) return std::nullopt;
  if (length(cross(a.axis, b.axis)) > same_direction_sine) return std::nullopt;
  const std::optional<Joined> joined = joined_ends(faces, a, b, taken);
  if (!joined) return std::nullopt;
  const std::vector<std::uint32_t>& walls = joined->walls;

  const AxisFrame frame(a.axis);
  const Vec2 ca = frame.flat(a.point), cb = frame.flat(b.point);
  const Vec2 apart = cb - ca;
  if (!(length(apart) > 0)) return std::nullopt;
  MeasuredFeature f;
  f.concave = a.concave;
  f.kind = a.concave ? "slot" : "slot_boss";
  std::vector<std::uint32_t> members = a.patches;
  members.insert(members.end(), b.patches.begin(), b.patches.end());
  members.insert(members.end(), walls.begin(), walls.end());
  double half_end = a.concave ? 1e300 : 0;
  if (a.concave) {
    // A pin at either end: its room is bounded by the facets there, and by a roof.
    const std::vector<WallLine> sides = lines_of(faces, frame, walls);
    for (const Cylinder* c : {&a, &b}) {
      const Vec2 centre = frame.flat(c->point);
      half_end = std::min(half_end, pin_at(lines_of(faces, frame, c->patches), centre));
      if (!joined->roof) continue;
      half_end =
          std::min({half_end, pin_at(lines_of(faces, frame, joined->roof->patches), centre), pin_at(sides, centre)});
    }
    f.diameter_mm = joined->roof ? 2 * half_end : width_between(sides);
  } else {
    double most[2] = {-1e300, -1e300};
    for (std::size_t i = 0; i < 2; ++i)
      for (const WallLine& l : lines_of(faces, frame, {walls[i]})) most[i] = l.offset;
    f.diameter_mm = most[0] + most[1];
    for (const Cylinder* c : {&a, &b})
      for (std::uint32_t v : border_vertices(faces, c->patches))
        half_end = std::max(half_end, length(frame.flat(faces.mesh.vertices[v]) - frame.flat(c->point)));
  }
  f.length_mm = length(apart) + 2 * half_end;
  name_long(faces, frame, 0.5 * (ca + cb), (1 / length(apart)) * apart, joined->roof, members, f, taken);
  return f;
}

/// A long hole with one round end, two walls that face each other and a roof over the other end: as long as to where a
/// pin of its width touches the roof.
std::optional<MeasuredFeature> roofed_hole(const Faces& faces, const Cylinder& c, std::vector<std::uint8_t>& taken) {
  if (c.full || !c.concave || c.coverage_rad < least_slot_arc) return std::nullopt;
  const std::vector<std::uint32_t> walls = next_along(faces, c.patches, c.axis, true, taken);
  if (walls.size() != 2 || !face_each_other(faces, walls[0], walls[1])) return std::nullopt;
  const std::optional<Roof> roof = roof_of(faces, c.axis, next_along(faces, {walls[0]}, c.axis, true, taken),
                                           next_along(faces, {walls[1]}, c.axis, true, taken));
  if (!roof) return std::nullopt;
  const AxisFrame frame(c.axis);
  const Vec2 centre = frame.flat(c.point), way = roof->ridge - centre;
  if (!(length(way) > 0)) return std::nullopt;
  const Vec2 along = (1 / length(way)) * way;
  MeasuredFeature f;
  f.concave = true;
  f.kind = "slot";
  f.diameter_mm = width_between(lines_of(faces, frame, walls));
  const double half_end = pin_at(lines_of(faces, frame, c.patches), centre);
  // Along the way to the ridge the roof's flanks come nearer by the sine of their angle to it.
  double far = 1e300;
  for (const WallLine& l : lines_of(faces, frame, roof->patches)) {
    const double nearer = -dot(l.normal, along);
    if (!(nearer > 0.1)) return std::nullopt;
    far = std::min(far, (dot(l.normal, centre) - l.offset - half_end) / nearer);
  }
  if (!(far > 0)) return std::nullopt;
  f.length_mm = far + 2 * half_end;
  std::vector<std::uint32_t> members = c.patches;
  members.insert(members.end(), walls.begin(), walls.end());
  name_long(faces, frame, centre + (far / 2) * along, along, roof, members, f, taken);
  return f;
}

MeasuredFeature round_wall(const Faces& faces, const Cylinder& c, std::vector<std::uint8_t>& taken) {
  const AxisFrame frame(c.axis);
  const Vec2 centre = frame.flat(c.point);
  MeasuredFeature f;
  f.concave = c.concave;
  f.angle_deg = c.coverage_rad / rad_per_deg;
  const bool mostly = c.concave && c.coverage_rad > 190 * rad_per_deg;
  f.kind = c.full || mostly ? (c.concave ? "hole" : "boss") : "edge_round";
  Vec2 best = centre;
  const std::vector<std::uint32_t> vertices = border_vertices(faces, c.patches);
  std::vector<std::uint32_t> members = c.patches;
  if (f.kind == "hole") {
    const std::optional<Roof> roof = c.full ? std::nullopt : roof_over(faces, c, taken);
    if (roof) {
      members.insert(members.end(), roof->patches.begin(), roof->patches.end());
      std::sort(members.begin(), members.end());
      for (std::uint32_t p : roof->patches) taken[p] = 1;
    }
    const Circle pin = largest_pin(lines_of(faces, frame, members), centre);
    f.diameter_mm = 2 * pin.radius;
    // A roof lets the largest pin rise no further, but not sink either: the wall tells where the axis is.
    best = roof ? centre : pin.centre;
    if (roof) {
      const Vec2 way = roof->ridge - best;
      f.point_mm = length(way);
      f.point = frame.space((1 / f.point_mm) * way, 0);
    }
  } else if (f.kind == "boss") {
    std::vector<Vec2> points;
    for (std::uint32_t v : vertices) points.push_back(frame.flat(faces.mesh.vertices[v]));
    const Circle ring = smallest_ring(points, centre);
    f.diameter_mm = 2 * ring.radius;
    best = ring.centre;
  } else if (c.concave) {
    double least = 1e300;
    for (const WallLine& l : lines_of(faces, frame, c.patches))
      least = std::min(least, dot(l.normal, centre) - l.offset);
    f.diameter_mm = 2 * least;
  } else {
    double most = 0;
    for (std::uint32_t v : vertices) most = std::max(most, length(frame.flat(faces.mesh.vertices[v]) - centre));
    f.diameter_mm = 2 * most;
  }
  for (std::uint32_t v : vertices) {
    const double r = length(frame.flat(faces.mesh.vertices[v]) - best);
    f.residual_mm = std::max(f.residual_mm, std::fabs(r - c.vertex_radius));
  }
  set_ends(ends_of(faces, c.axis, members), c.axis, frame.space(best, 0), c.concave, f);
  add_facets(faces, members, f);
  return f;
}

/// A full ring of facets at one slope beyond the end of a full wall.
std::optional<MeasuredFeature> cone_at(const Faces& faces, const Cylinder& c, const WallEnd& end,
                                       std::vector<std::uint8_t>& taken) {
  if (!c.full || end.neighbours.size() < least_cone_facets) return std::nullopt;
  double least = 2, most = -2;
  for (std::uint32_t p : end.neighbours) {
    if (taken[p]) return std::nullopt;
    const double slope = dot(faces.patches.patches[p].normal, c.axis);
    least = std::min(least, slope);
    most = std::max(most, slope);
  }
  if (most - least > 0.02 || std::fabs(most) < 0.1 || std::fabs(most) > 0.98) return std::nullopt;
  const AxisFrame frame(c.axis);
  const Vec2 centre = frame.flat(c.point);
  MeasuredFeature f;
  f.kind = "cone";
  f.concave = c.concave;
  const double sine = 0.5 * (least + most);
  f.angle_deg = atan2_rad(std::fabs(sine), std::sqrt(1 - sine * sine)) / rad_per_deg;
  f.low_mm = 1e300;
  f.high_mm = -1e300;
  double wide = 0, wide_z = 0;
  for (std::uint32_t v : border_vertices(faces, end.neighbours)) {
    const Vec3 p = faces.mesh.vertices[v];
    const double z = dot(p, c.axis), r = length(frame.flat(p) - centre);
    f.low_mm = std::min(f.low_mm, z);
    f.high_mm = std::max(f.high_mm, z);
    if (r > wide) {
      wide = r;
      wide_z = z;
    }
  }
  f.diameter_mm = 2 * wide;
  f.depth_mm = f.high_mm - f.low_mm;
  f.axis = sine > 0 ? c.axis : -c.axis;
  f.at = frame.space(centre, wide_z);
  add_facets(faces, end.neighbours, f);
  for (std::uint32_t p : end.neighbours) taken[p] = 1;
  return f;
}

/// A blind hole or slot whose floor holds a narrower one becomes a counterbore.
void name_counterbores(std::vector<MeasuredFeature>& features, double tolerance) {
  for (MeasuredFeature& wide : features) {
    if ((wide.kind != "hole" && wide.kind != "slot") || wide.through) continue;
    const Vec3 up = upward(wide.axis);
    const double floor = dot(wide.axis, up) > 0 ? wide.low_mm : wide.high_mm;
    for (const MeasuredFeature& narrow : features) {
      if (&narrow == &wide || !(narrow.kind == "hole" || narrow.kind == "slot" || narrow.kind == "counterbore"))
        continue;
      if (narrow.diameter_mm >= wide.diameter_mm || length(cross(narrow.axis, up)) > same_direction_sine) continue;
      const double a = dot(narrow.axis, up) > 0 ? narrow.high_mm : narrow.low_mm;
      const double b = dot(narrow.axis, up) > 0 ? narrow.low_mm : narrow.high_mm;
      if (std::fabs(a - floor) > 20 * tolerance && std::fabs(b - floor) > 20 * tolerance) continue;
      const double reach = 0.5 * std::max(wide.diameter_mm, wide.length_mm);
      if (length(cross(narrow.at - wide.at, up)) > reach) continue;
      wide.kind = wide.kind == "slot" ? "counterbore_slot" : "counterbore";
      break;
    }
  }
}

}  // namespace

std::vector<MeasuredFeature> wall_features(const Faces& faces, std::vector<Cylinder> cylinders,
                                           std::vector<std::uint8_t>& taken) {
  join_parted(cylinders, faces.patches.tolerance_mm);
  std::vector<MeasuredFeature> features;
  std::vector<std::uint8_t> used(cylinders.size(), 0);
  for (std::size_t i = 0; i < cylinders.size(); ++i)
    for (std::size_t k = i + 1; k < cylinders.size() && !used[i]; ++k) {
      if (used[k]) continue;
      if (auto slot = long_hole(faces, cylinders[i], cylinders[k], taken)) {
        features.push_back(std::move(*slot));
        used[i] = used[k] = 1;
      }
    }
  for (std::size_t i = 0; i < cylinders.size(); ++i) {
    if (used[i]) continue;
    if (auto slot = roofed_hole(faces, cylinders[i], taken)) {
      features.push_back(std::move(*slot));
      continue;
    }
    features.push_back(round_wall(faces, cylinders[i], taken));
    if (!cylinders[i].full) continue;
    const WallEnds ends = ends_of(faces, cylinders[i].axis, cylinders[i].patches);
    for (const WallEnd* end : {&ends.low, &ends.high})
      if (auto cone = cone_at(faces, cylinders[i], *end, taken)) features.push_back(std::move(*cone));
  }
  name_counterbores(features, faces.patches.tolerance_mm);
  return features;
}

}  // namespace bedwright
