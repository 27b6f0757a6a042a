#include "gauge/dimensions.h"

#include <algorithm>
#include <cmath>

#include "base/trig.h"
#include "gauge/facet_tree.h"

namespace bedwright {
namespace {

constexpr double look_mm = 1.0;  // how far off its drawn place a round wall is still taken for the feature
constexpr double look_diameter_mm = 0.5;
constexpr double along_z = 0.9999;
constexpr double look_chamfer_mm = 0.02;  // about a chamfer's profile: facets that end on it are within two chords

bool upright(const MeasuredFeature& f) {
  return std::fabs(f.axis.z) > along_z;
}

bool runs_along(Along along, const MeasuredFeature& f) {
  return std::fabs(along_axis(along, f.axis)) > along_z;
}

struct Span {
  double low = 0, high = 0;
};
Span span_of(const MeasuredFeature& f, Along along) {
  const double a = along_axis(along, f.at), b = a - f.depth_mm * along_axis(along, f.axis);
  return {std::min(a, b), std::max(a, b)};
}

/// Least and greatest coordinate along its axis that the drawing lets the feature's wall have.
Span drawn_span(const Feature& f) {
  Span s{-1e300, 1e300};
  if (f.from.kind == Bound::Kind::flat) s.low = f.from.z_mm;
  if (f.to.kind == Bound::Kind::flat) s.high = f.to.z_mm;
  return s;
}

bool kind_fits(const Feature& f, const MeasuredFeature& m) {
  switch (f.kind) {
    case FeatureKind::clearance_hole:
    case FeatureKind::counterbore:
    case FeatureKind::insert_pocket:
      return m.kind == "hole" || m.kind == "counterbore" || (m.kind == "edge_round" && m.concave);
    case FeatureKind::slot:
    case FeatureKind::counterbore_slot:
      return m.kind == "slot" || m.kind == "counterbore_slot";
    case FeatureKind::boss:
      return m.kind == "boss" || (m.kind == "edge_round" && !m.concave);
    default:
      return false;
  }
}

const Dimension* size_of(const Feature& f) {
  const Dimension* d = find_dimension(f, "diameter");
  return d ? d : find_dimension(f, "width");
}

bool looks_along_z(const MeasuredFeature& f, double sign) {
  return f.kind == "plane" && f.axis.z * sign > 0.99999;
}

/// z of the largest face that looks along `sign` Z.
std::optional<double> largest_face(const Placed& file, double sign) {
  double area = 0;
  std::optional<double> z;
  for (const MeasuredFeature& f : file.features)
    if (looks_along_z(f, sign) && f.area_mm2 > area) {
      area = f.area_mm2;
      z = f.at.z;
    }
  return z;
}

/// z of the body's face that looks along `sign` Z: of the large ones the nearest to where it is drawn, for ribs
/// may have more face than the sheet between them.
std::optional<double> body_face(const Placed& file, double sign, double drawn_z) {
  constexpr double large = 0.1;  // of the largest
  double area = 0;
  for (const MeasuredFeature& f : file.features)
    if (looks_along_z(f, sign)) area = std::max(area, f.area_mm2);
  std::optional<double> z;
  for (const MeasuredFeature& f : file.features)
    if (looks_along_z(f, sign) && f.area_mm2 >= large * area &&
        (!z || std::fabs(f.at.z - drawn_z) < std::fabs(*z - drawn_z)))
      z = f.at.z;
  return z;
}

/// Whether the roof's ridge lies where the drawn profile reaches farthest from its axis.
bool points_as_drawn(const MeasuredFeature& m, const Feature& f) {
  const Vec2 at = in_plane(f.along, f.at), way = in_plane(f.along, m.point);
  Vec2 tip{};
  for (const Curve& c : f.profile.front().curves)
    if (length(c.start - at) > length(tip)) tip = c.start - at;
  return dot(tip, way) > along_z * length(tip);
}

std::optional<double> round_value(const std::string& quantity, const MeasuredFeature& m, const Feature& f,
                                  const Placed& file) {
  if (quantity == "diameter" || (quantity == "width" && m.length_mm > 0)) return m.diameter_mm;
  if (quantity == "length" && m.length_mm > 0) return m.length_mm;
  if (quantity == "x") return m.at.x;
  if (quantity == "y") return m.at.y;
  if (quantity == "z") return m.at.z;
  if (quantity == "depth") return m.depth_mm;
  // A point on another side than the drawn one is not that point.
  if (quantity == "point" && m.point_mm > 0 && points_as_drawn(m, f)) return m.point_mm;
  // Over the body's far side, whatever stands round the foot.
  if (quantity == "rise") {
    const std::optional<double> under = largest_face(file, -m.axis.z);
    return under ? std::optional<double>(std::fabs(m.at.z - *under)) : std::nullopt;
  }
  if (quantity == "height") {
    // From the free end to the face it stands on: the wall's own foot may run into other walls.
    const std::optional<double> foot = largest_face(file, m.axis.z);
    if (foot && f.kind == FeatureKind::boss) return std::fabs(m.at.z - *foot);
    return m.depth_mm;
  }
  return std::nullopt;
}

std::optional<double> seat_value(const std::string& quantity, const SeatReading& r, const Surface& form) {
  if (!r.found) return std::nullopt;
  const double sign = form.sign;
  if (quantity == "thickness") return r.lowest_mm - r.carriage_mm;
  if (quantity == "slope_x") return r.slope.x;
  if (quantity == "slope_y") return r.slope.y;
  if (quantity == "deviation") return std::max(std::fabs(r.least_off_mm), std::fabs(r.most_off_mm));
  if (quantity == "apex_x") return r.apex.x;
  if (quantity == "apex_y") return r.apex.y;
  // Negative where the file is bowed the other way than the part.
  const double radius = quantity == "radius_y" || r.radius_x == 0 ? r.radius_y : r.radius_x;
  if ((quantity == "radius" || quantity == "radius_x" || quantity == "radius_y") && radius != 0) return sign * radius;
  return std::nullopt;
}

std::optional<double> outline_value(const std::string& quantity, const Feature& f, const Placed& file) {
  // A round outline that is cut open (horseshoes, notches) keeps its size as drawn: that of its round wall.
  const bool round = f.profile.size() == 1 && f.profile[0].circle;
  if (round && (quantity == "length" || quantity == "width")) return outline_value("diameter", f, file);
  const Box box = bounding_box(file.mesh);
  if (quantity == "length") return box.high.x - box.low.x;
  if (quantity == "width") return box.high.y - box.low.y;
  if (quantity == "thickness" || quantity == "height") {
    const bool flat = f.from.kind == Bound::Kind::flat && f.to.kind == Bound::Kind::flat;
    const std::optional<double> low = flat ? body_face(file, -1, f.from.z_mm) : largest_face(file, -1),
                                high = flat ? body_face(file, 1, f.to.z_mm) : largest_face(file, 1);
    if (low && high) return *high - *low;
  }
  if (quantity == "diameter" || quantity == "radius") {
    double most = 0;
    for (const MeasuredFeature& m : file.features)
      if (upright(m) && (m.kind == "boss" || (m.kind == "edge_round" && !m.concave)))
        most = std::max(most, m.diameter_mm);
    if (most > 0) return quantity == "radius" ? most / 2 : most;
  }
  return std::nullopt;
}

bool within(const PlaneBox& b, Vec2 p) {
  constexpr double slack = 0.02;  // facets of a hole stray outside the true curve by a chord
  return p.x > b.low.x - slack && p.x < b.high.x + slack && p.y > b.low.y - slack && p.y < b.high.y + slack;
}

PlaneBox box_of(const Feature& f) {
  PlaneBox box{{1e300, 1e300}, {-1e300, -1e300}};
  for (const Loop& loop : f.profile) {
    const PlaneBox b = bounding_box(loop);
    box.low = {std::min(box.low.x, b.low.x), std::min(box.low.y, b.low.y)};
    box.high = {std::max(box.high.x, b.high.x), std::max(box.high.y, b.high.y)};
  }
  return box;
}

/// Marks and notches: floors that look up within the profile's box, below what stands round them.
std::optional<double> recess_value(const std::string& quantity, const Feature& f, const Placed& file) {
  if (f.profile.empty()) return std::nullopt;
  const PlaneBox box = box_of(f);
  const double side = f.axis.z < 0 ? -1 : 1;
  double floor = 1e300, top = -1e300;
  int count = 0;
  for (const MeasuredFeature& m : file.features) {
    if (m.kind != "plane" || m.axis.z * side < 0.99999 || !within(box, {m.at.x, m.at.y})) continue;
    bool inside = true;
    for (std::uint32_t facet : m.facets)
      for (std::uint32_t v : file.mesh.triangles[facet])
        inside = inside && within(box, {file.mesh.vertices[v].x, file.mesh.vertices[v].y});
    if (!inside) continue;
    floor = std::min(floor, side * m.at.z);
    ++count;
  }
  if (count == 0) return std::nullopt;
  if (quantity == "count") return count;
  if (quantity == "floor") return side * floor;
  if (quantity != "depth") return std::nullopt;
  for (const Vec3& v : file.mesh.vertices)
    if (within(box, {v.x, v.y})) top = std::max(top, side * v.z);
  return top > floor ? std::optional<double>(top - floor) : std::nullopt;
}

/// Keys: the flat face at the free end, which lies within the key's box. It looks down on keys that hang, else up.
std::optional<double> key_value(const std::string& quantity, const Feature& f, const Placed& file) {
  if (f.profile.empty()) return std::nullopt;
  const PlaneBox box = box_of(f);
  const double side = f.from.kind == Bound::Kind::flat && f.from.z_mm < 0 ? -1 : 1;
  const Vec2 outward{f.axis.x, f.axis.y}, sideways{-outward.y, outward.x};
  double z = 0, far = -1e300, least = 1e300, most = -1e300;
  for (const MeasuredFeature& m : file.features) {
    if (m.kind != "plane" || m.axis.z * side < 0.99999 || !within(box, {m.at.x, m.at.y})) continue;
    double reach = -1e300, low = 1e300, high = -1e300;
    bool inside = true;
    for (std::uint32_t facet : m.facets)
      for (std::uint32_t v : file.mesh.triangles[facet]) {
        const Vec2 p{file.mesh.vertices[v].x, file.mesh.vertices[v].y};
        inside = inside && within(box, p);
        reach = std::max(reach, dot(p, outward));
        low = std::min(low, dot(p, sideways));
        high = std::max(high, dot(p, sideways));
      }
    if (!inside || reach < far) continue;
    z = m.at.z;
    far = reach;
    least = low;
    most = high;
  }
  if (far < -1e299) return std::nullopt;
  if (quantity == "across") return most - least;
  if (quantity == "reach") return far;
  if (quantity == "top") return z;
  const std::optional<double> foot = largest_face(file, -1);
  if (quantity == "height" && foot) return *foot - z;
  return std::nullopt;
}

bool all_within(const PlaneBox& box, const MeasuredFeature& m, const Mesh& mesh) {
  for (std::uint32_t facet : m.facets)
    for (std::uint32_t v : mesh.triangles[facet])
      if (!within(box, {mesh.vertices[v].x, mesh.vertices[v].y})) return false;
  return true;
}

/// A notch's width and middle: from the two upright walls within its profile's box that look at each other.
std::optional<double> notch_value(const std::string& quantity, const Feature& f, const Placed& file) {
  if (f.profile.empty() || (quantity != "width" && quantity != "x" && quantity != "y"))
    return recess_value(quantity, f, file);
  PlaneBox box = box_of(f);
  // A wall that is a little off its place is measured, not lost.
  const Vec2 look{look_diameter_mm, look_diameter_mm};
  box = {box.low - look, box.high + look};
  std::vector<const MeasuredFeature*> walls;
  for (const MeasuredFeature& m : file.features)
    if (m.kind == "plane" && std::fabs(m.axis.z) < 1 - along_z && all_within(box, m, file.mesh)) walls.push_back(&m);
  double area = 0;
  std::optional<double> value;
  for (const MeasuredFeature* a : walls)
    for (const MeasuredFeature* b : walls) {
      const double apart = dot(a->axis, b->at - a->at);
      if (dot(a->axis, b->axis) > -along_z || apart <= 0 || a->area_mm2 + b->area_mm2 <= area) continue;
      area = a->area_mm2 + b->area_mm2;
      const Vec3 middle = a->at + (apart / 2) * a->axis;
      value = quantity == "width" ? apart : quantity == "x" ? middle.x : middle.y;
    }
  return value;
}

/// The file's facets' corners in the plane of a feature that crosses.
bool all_within(const PlaneBox& box, Along along, const MeasuredFeature& m, const Mesh& mesh) {
  for (std::uint32_t facet : m.facets)
    for (std::uint32_t v : mesh.triangles[facet])
      if (!within(box, in_plane(along, mesh.vertices[v]))) return false;
  return true;
}

/// An opening along X or Y: its width between the two upright walls that look at each other, its middle, and the height
/// of its sill.
std::optional<double> opening_value(const std::string& quantity, const Feature& f, const Placed& file) {
  if (f.profile.empty()) return std::nullopt;
  const Vec2 look{look_diameter_mm, look_diameter_mm};
  PlaneBox box = box_of(f);
  box = {box.low - look, box.high + look};
  double area = 0;
  std::optional<double> value;
  const auto faces = [&](const MeasuredFeature& m, Vec2 way) {
    return m.kind == "plane" && dot(in_plane(f.along, m.axis), way) > along_z && all_within(box, f.along, m, file.mesh);
  };
  if (quantity == "sill") {
    for (const MeasuredFeature& m : file.features)
      if (faces(m, {0, 1}) && m.area_mm2 > area) area = m.area_mm2, value = m.at.z;
    return value;
  }
  if (quantity != "width" && quantity != "x" && quantity != "y") return std::nullopt;
  for (const MeasuredFeature& a : file.features)
    if (faces(a, {1, 0}))
      for (const MeasuredFeature& b : file.features) {
        if (!faces(b, {-1, 0}) || a.area_mm2 + b.area_mm2 <= area) continue;
        const double low = in_plane(f.along, a.at).x, high = in_plane(f.along, b.at).x;
        if (high <= low) continue;
        area = a.area_mm2 + b.area_mm2;
        value = quantity == "width" ? high - low : (low + high) / 2;
      }
  return value;
}

/// How far the file's surface is from a profile that it follows, where that runs within the part's outline: the largest
/// over the profile of the least over the height, so that what crosses it does not count.
std::optional<double> followed_value(const Feature& f, const Part& part, const Placed& file) {
  constexpr double sample_mm = 0.5, clear_mm = 0.2, look_far_mm = 2;
  constexpr int levels = 9;
  if (f.profile.empty() || part.features.front().profile.empty()) return std::nullopt;
  const Loop& edge = part.features.front().profile.front();
  const Box box = bounding_box(file.mesh);
  const double low = part.features.front().from.z_mm, high = part.features.front().to.z_mm;
  const FacetTree tree(file.mesh);
  std::optional<double> most;
  const auto look = [&](Vec2 p) {
    if (!contains(edge, p) || distance(edge, p) < clear_mm) return;
    double least = look_far_mm;
    for (int k = 0; k < levels; ++k) {
      const double z = std::min(low + (high - low) * (k + 0.5) / levels, box.high.z);
      least = std::min(least, tree.distance({p.x, p.y, z}, least));
    }
    most = std::max(most.value_or(0), least);
  };
  for (const Loop& loop : f.profile)
    for (const Curve& c : loop.curves) {
      const double along = c.arc ? std::fabs(span_of(c).sweep) * c.radius : length(c.end - c.start);
      const int pieces = std::max(2, static_cast<int>(along / sample_mm));
      for (int i = 0; i < pieces; ++i) {
        const double share = (i + 0.5) / pieces;
        if (!c.arc) {
          look(c.start + share * (c.end - c.start));
          continue;
        }
        const ArcSpan span = span_of(c);
        const double a = span.from + share * span.sweep;
        look(c.centre + c.radius * Vec2{cos_rad(a), sin_rad(a)});
      }
    }
  return most;
}

/// How far a chamfer reaches in from the upright face beside it: over the facets that look its way within its profile.
std::optional<double> chamfer_value(const std::string& quantity, const Feature& f, const Placed& file) {
  constexpr double faces = 0.99;  // cosine: off a domed seat it is a few degrees off 45
  if (quantity != "depth" || f.profile.empty()) return std::nullopt;
  const double plan = std::sqrt(f.axis.x * f.axis.x + f.axis.y * f.axis.y);
  if (plan < along_z / 2) return std::nullopt;
  const Vec3 out = (1 / plan) * Vec3{f.axis.x, f.axis.y, 0};
  const Vec2 look{look_chamfer_mm, look_chamfer_mm};
  PlaneBox box = box_of(f);
  box = {box.low - look, box.high + look};
  double low = 1e300, high = -1e300;
  for (std::size_t i = 0; i < file.mesh.triangles.size(); ++i) {
    const auto& t = file.mesh.triangles[i];
    const Vec3 a = file.mesh.vertices[t[0]], b = file.mesh.vertices[t[1]], c = file.mesh.vertices[t[2]];
    const Vec3 normal = cross(b - a, c - a);
    if (dot(normal, f.axis) < faces * length(normal)) continue;
    if (!within(box, in_plane(f.along, a)) || !within(box, in_plane(f.along, b)) || !within(box, in_plane(f.along, c)))
      continue;
    for (const Vec3 p : {a, b, c}) {
      low = std::min(low, dot(out, p));
      high = std::max(high, dot(out, p));
    }
  }
  return high > low ? std::optional<double>(high - low) : std::nullopt;
}

}  // namespace

Placed placed(const Mesh& mesh, const std::vector<MeasuredFeature>& features, double scale, const Transform& motion) {
  Placed out;
  Mesh scaled = mesh;
  if (scale != 1)
    for (Vec3& v : scaled.vertices) v = scale * v;
  out.mesh = transformed(scaled, motion);
  out.features = features;
  for (MeasuredFeature& f : out.features) {
    f.at = apply(motion, scale * f.at);
    f.centre = apply(motion, scale * f.centre);
    f.axis = turn(motion, f.axis);
    f.along = turn(motion, f.along);
    f.point = turn(motion, f.point);
    for (double* size : {&f.diameter_mm, &f.length_mm, &f.depth_mm, &f.radius_mm, &f.residual_mm, &f.point_mm})
      *size *= scale;
    f.area_mm2 *= scale * scale;
    const Vec3 up = f.axis.z < 0 ? -f.axis : f.axis;
    const double a = dot(up, f.at), b = a - dot(up, f.axis) * f.depth_mm;
    f.low_mm = std::min(a, b);
    f.high_mm = std::max(a, b);
  }
  return out;
}

int counterpart(const Feature& feature, const Placed& file) {
  const Dimension* size = size_of(feature);
  if (!size) return -1;
  const Span drawn = drawn_span(feature);
  int best = -1;
  double least = 1e300;
  for (std::size_t i = 0; i < file.features.size(); ++i) {
    const MeasuredFeature& m = file.features[i];
    if (!kind_fits(feature, m) || !runs_along(feature.along, m)) continue;
    const double apart = length(in_plane(feature.along, m.at) - in_plane(feature.along, feature.at));
    const double wider = std::fabs(m.diameter_mm - size->modelled_mm);
    if (apart > look_mm || wider > look_diameter_mm) continue;
    const Span span = span_of(m, feature.along);
    const double overlap = std::min(span.high, drawn.high) - std::max(span.low, drawn.low);
    if (overlap < 0.4 * (span.high - span.low)) continue;
    const double cost =
        apart + wider + (m.kind == "edge_round" ? 0.3 : 0) - 0.01 * overlap / (1 + span.high - span.low);
    if (cost < least) {
      least = cost;
      best = static_cast<int>(i);
    }
  }
  return best;
}

int recesses(const Feature& feature, const Placed& file) {
  const std::optional<double> count = recess_value("count", feature, file);
  return count ? static_cast<int>(*count) : 0;
}

std::vector<MeasuredDimension> measured_dimensions(const Part& part, const Placed& file) {
  std::vector<MeasuredDimension> out;
  for (const Feature& f : part.features) {
    if (f.dimensions.empty()) continue;
    const int match = counterpart(f, file);
    SeatReading seat;
    if (f.kind == FeatureKind::seat) seat = read_seat(f, part.seat, file);
    for (const Dimension& d : f.dimensions) {
      MeasuredDimension m;
      m.feature = f.id;
      m.quantity = d.quantity;
      m.nominal_mm = d.nominal_mm;
      m.modelled_mm = d.modelled_mm;
      m.tolerance_mm = d.tolerance_mm;
      switch (f.kind) {
        case FeatureKind::outline:
          m.measured_mm = outline_value(d.quantity, f, file);
          break;
        case FeatureKind::seat:
          m.measured_mm = seat_value(d.quantity, seat, part.seat);
          break;
        case FeatureKind::notch:
          m.measured_mm = d.quantity == "deviation" ? followed_value(f, part, file)
                          : crosses(f)              ? opening_value(d.quantity, f, file)
                                                    : notch_value(d.quantity, f, file);
          break;
        case FeatureKind::mark:
          m.measured_mm = recess_value(d.quantity, f, file);
          break;
        case FeatureKind::key:
          m.measured_mm = key_value(d.quantity, f, file);
          break;
        case FeatureKind::chamfer:
          m.measured_mm = chamfer_value(d.quantity, f, file);
          break;
        default:
          if (d.quantity == "floor" && !crosses(f))
            m.measured_mm = recess_value(d.quantity, f, file);
          else if (match >= 0)
            m.measured_mm = round_value(d.quantity, file.features[static_cast<std::size_t>(match)], f, file);
      }
      if (m.measured_mm) {
        m.deviation_mm = *m.measured_mm - m.modelled_mm;
        m.ok = std::fabs(m.deviation_mm) <= m.tolerance_mm;
      }
      out.push_back(std::move(m));
    }
  }
  return out;
}

}  // namespace bedwright
