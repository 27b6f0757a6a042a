#include <CGAL/box_intersection_d.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>

#include "base/box.h"
#include "base/joined.h"
#include "solid/shape.h"

namespace bedwright {
namespace {

using Id = std::uint32_t;
constexpr Id none = ~Id{0};
// A few roundings of numbers below 2^10 mm.
constexpr double rounding_mm = 4e-12;

/// An edge of one body passes a face of the other.
struct Pass {
  Id edge = 0;  ///< the lesser of the two halves
  Id face = 0;  ///< of the other body
  bool entering = false;
  double along_mm = 0;  ///< from where the edge begins
  Vec3 at{};
  double error_mm = 0;
};

struct Side {
  const Shape* shape;
  std::vector<Pass> passes;  ///< of its edges, by edge and along it
  std::vector<Id> first;     ///< per edge the first of its passes; one more at the end
  std::vector<bool> inside;  ///< of each corner, whether it lies in the other body
};

double off_plane(const Shape::Face& face, Vec3 p) {
  return dot(face.normal, p - face.on);
}

/// Of p from the edge between a and b.
double distance_to(Vec3 p, Vec3 a, Vec3 b) {
  const Vec3 way = b - a;
  const double share = std::clamp(dot(p - a, way) / dot(way, way), 0.0, 1.0);
  return length(p - (a + share * way));
}

enum class Where { outside, inside, touching };

/// Edges of each face, together.
struct Borders {
  std::vector<Id> edges, first;
};
Borders borders_of(const Shape& shape) {
  Borders b;
  b.first.assign(shape.faces.size() + 1, 0);
  for (const Shape::Edge& e : shape.edges) ++b.first[e.face + 1];
  std::partial_sum(b.first.begin(), b.first.end(), b.first.begin());
  std::vector<Id> place(b.first.begin(), b.first.end() - 1);
  b.edges.resize(shape.edges.size());
  for (Id e = 0; e < shape.edges.size(); ++e) b.edges[place[shape.edges[e].face]++] = e;
  return b;
}

/// Of a point in the face's plane, known to within `error_mm`. Seen along the axis that the face looks along most, a
/// ray crosses its border an odd number of times; what is farther from each edge than its error is on the same side as
/// seen.
Where where(const Shape& shape, const Borders& borders, Id f, Vec3 p, double error_mm) {
  const Vec3 n = shape.faces[f].normal;
  const double x = std::fabs(n.x), y = std::fabs(n.y), z = std::fabs(n.z);
  const int drop = x > y && x > z ? 0 : y > z ? 1 : 2;
  const auto seen = [drop](Vec3 v) {
    return drop == 0 ? Vec2{v.y, v.z} : drop == 1 ? Vec2{v.z, v.x} : Vec2{v.x, v.y};
  };
  const Vec2 q = seen(p);
  const double near = touching_mm + error_mm;
  bool inside = false;
  for (Id i = borders.first[f]; i < borders.first[f + 1]; ++i) {
    const Shape::Edge& e = shape.edges[borders.edges[i]];
    const Vec3 a = shape.corners[e.from], b = shape.corners[e.to];
    if (std::min(a.x, b.x) < p.x + near && std::max(a.x, b.x) > p.x - near && std::min(a.y, b.y) < p.y + near &&
        std::max(a.y, b.y) > p.y - near && std::min(a.z, b.z) < p.z + near && std::max(a.z, b.z) > p.z - near &&
        distance_to(p, a, b) < near)
      return Where::touching;
    const Vec2 c = seen(a), d = seen(b);
    if ((c.y <= q.y) == (d.y <= q.y)) continue;
    const bool rising = c.y < d.y;
    const Vec2 low = rising ? c : d, high = rising ? d : c;
    if (cross(high - low, q - low) > 0) inside = !inside;
  }
  return inside ? Where::inside : Where::outside;
}

/// Of an edge and a face whose boxes meet. False where they touch or nobody can tell.
bool look_at(const Shape& own, Id edge, const Shape& other, const Borders& borders, Id f, std::vector<Pass>& passes) {
  const Shape::Edge& e = own.edges[edge];
  const Shape::Face& face = other.faces[f];
  const Vec3 from = own.corners[e.from], to = own.corners[e.to];
  const double a = off_plane(face, from), b = off_plane(face, to), least = touching_mm;
  if ((a > least && b > least) || (a < -least && b < -least)) return true;
  const bool at_a = std::fabs(a) <= least, at_b = std::fabs(b) <= least;
  if (at_a && at_b) return false;
  if (at_a || at_b) return where(other, borders, f, at_a ? from : to, touching_mm) == Where::outside;
  const double way = length(to - from), slope = std::fabs(a - b) / way;
  Pass p{edge, f, a > 0, way * (a / (a - b)), from + (a / (a - b)) * (to - from), 0};
  p.error_mm = (own.errors_mm[e.from] + own.errors_mm[e.to] + rounding_mm) * (1 + 1 / slope);
  if (!(p.error_mm < most_corner_error_mm)) return false;
  const Where place = where(other, borders, f, p.at, p.error_mm);
  if (place == Where::touching) return false;
  if (place == Where::inside) passes.push_back(p);
  return true;
}

using Numbered = CGAL::Box_intersection_d::Box_with_info_d<double, 3, Id>;
Numbered numbered(const Box& b, Id number) {
  const Box wide = widened(b, touching_mm);
  double low[] = {wide.low.x, wide.low.y, wide.low.z}, high[] = {wide.high.x, wide.high.y, wide.high.z};
  return {low, high, number};
}

/// All passes of the side's edges through the other's faces. False where something touches.
bool find_passes(Side& side, const Shape& other) {
  const Shape& own = *side.shape;
  std::vector<Numbered> edges, faces;
  for (Id i = 0; i < own.edges.size(); ++i) {
    const Shape::Edge& e = own.edges[i];
    if (e.twin < i) continue;
    const Vec3 a = own.corners[e.from], b = own.corners[e.to];
    const Box box = both({a, a}, {b, b});
    if (!apart(box, other.box)) edges.push_back(numbered(box, i));
  }
  for (Id f = 0; f < other.faces.size(); ++f)
    if (!apart(other.faces[f].box, own.box)) faces.push_back(numbered(other.faces[f].box, f));
  const Borders borders = borders_of(other);
  std::vector<Pass>& passes = side.passes;
  bool fine = true;
  CGAL::box_intersection_d(edges.begin(), edges.end(), faces.begin(), faces.end(),
                           [&](const Numbered& edge, const Numbered& face) {
                             fine = fine && look_at(own, edge.info(), other, borders, face.info(), passes);
                           });
  if (!fine) return false;
  std::sort(passes.begin(), passes.end(), [](const Pass& p, const Pass& q) {
    return p.edge != q.edge ? p.edge < q.edge : p.along_mm != q.along_mm ? p.along_mm < q.along_mm : p.face < q.face;
  });
  for (std::size_t i = 1; i < passes.size(); ++i) {
    const Pass &p = passes[i - 1], &q = passes[i];
    if (p.edge == q.edge && (p.entering == q.entering || q.along_mm - p.along_mm < touching_mm)) return false;
  }
  side.first.assign(own.edges.size() + 1, 0);
  for (const Pass& p : passes) ++side.first[p.edge + 1];
  std::partial_sum(side.first.begin(), side.first.end(), side.first.begin());
  return true;
}

/// Along a way that nothing is built along.
Where within(const Shape& shape, const Borders& borders, Vec3 p) {
  constexpr Vec3 way{0.2716, 0.3397, 0.9005};
  bool inside = false;
  for (Id f = 0; f < shape.faces.size(); ++f) {
    const double fall = dot(shape.faces[f].normal, way), off = off_plane(shape.faces[f], p);
    if (std::fabs(fall) < 1e-3) {
      // Nearly along the face: only where the ray cannot reach it, one can tell.
      const Box& b = shape.faces[f].box;
      if (p.x > b.high.x || p.y > b.high.y || p.z > b.high.z) continue;
      return Where::touching;
    }
    if (off / fall > touching_mm) continue;  // behind
    const Where there = where(shape, borders, f, p - (off / fall) * way, most_corner_error_mm);
    if (there == Where::touching || (there == Where::inside && std::fabs(off) < touching_mm)) return Where::touching;
    if (there == Where::inside) inside = !inside;
  }
  return inside ? Where::inside : Where::outside;
}

/// Which corners lie in the other body: from the passes, and along the edges from there. False where nobody can tell.
bool find_inside(Side& side, const Shape& other) {
  const Shape& own = *side.shape;
  std::vector<Id> parent(own.corners.size());
  std::iota(parent.begin(), parent.end(), 0u);
  for (Id i = 0; i < own.edges.size(); ++i)
    if (i < own.edges[i].twin && side.first[i] == side.first[i + 1]) join(parent, own.edges[i].from, own.edges[i].to);
  std::vector<Where> known(own.corners.size(), Where::touching);  // of each root; touching: not yet
  const auto learn = [&](Id corner, bool inside) {
    Where& k = known[root_of(parent, corner)];
    const Where is = inside ? Where::inside : Where::outside;
    if (k != Where::touching && k != is) return false;
    k = is;
    return true;
  };
  for (std::size_t i = 0; i < side.passes.size(); ++i) {
    const Pass& p = side.passes[i];
    if (i == side.first[p.edge] && !learn(own.edges[p.edge].from, !p.entering)) return false;
    if (i + 1 == side.first[p.edge + 1] && !learn(own.edges[p.edge].to, p.entering)) return false;
  }
  const Borders borders = borders_of(other);
  side.inside.assign(own.corners.size(), false);
  for (Id v = 0; v < own.corners.size(); ++v) {
    Where& k = known[root_of(parent, v)];
    if (k == Where::touching)
      k = apart({own.corners[v], own.corners[v]}, other.box) ? Where::outside : within(other, borders, own.corners[v]);
    if (k == Where::touching) return false;
    side.inside[v] = k == Where::inside;
  }
  return true;
}

/// What is left of the borders of the side's own faces: outside the other, or inside and turned round.
/// Corners are numbered: the side's own from `first_corner`, its passes from `first_pass`.
void keep_borders(const Side& side, bool keep_inside, Id first_face, Id first_corner, Id first_pass,
                  std::vector<Shape::Edge>& out) {
  const Shape& own = *side.shape;
  for (Id i = 0; i < own.edges.size(); ++i) {
    const Shape::Edge& e = own.edges[i];
    const Id lesser = std::min(i, e.twin);
    // Along the lesser half; turned where this is the other, and once more where the face is turned over.
    const bool turned = (i != lesser) != keep_inside;
    Id before = first_corner + own.edges[lesser].from;
    bool inside = side.inside[own.edges[lesser].from];
    for (Id k = side.first[lesser]; k <= side.first[lesser + 1]; ++k) {
      const Id here = k == side.first[lesser + 1] ? first_corner + own.edges[lesser].to : first_pass + k;
      // What it is of stands in `twin` until twins are found.
      if (inside == keep_inside)
        out.push_back({turned ? here : before, turned ? before : here, first_face + e.face, none, i});
      inside = !inside;
      before = here;
    }
  }
}

struct Meeting {
  Id body_face, cutter_face, corner;
  const Pass* pass;
};

/// Where the body's faces meet the cutter's: from pass to pass. False where they touch.
bool meet_faces(const Side& body, const Side& cutter, Id body_passes, Id cutter_passes, std::vector<Shape::Edge>& out) {
  std::vector<Meeting> meetings;
  for (const bool of_body : {true, false}) {
    const Side& side = of_body ? body : cutter;
    for (Id i = 0; i < side.passes.size(); ++i) {
      const Pass& p = side.passes[i];
      const Shape::Edge& e = side.shape->edges[p.edge];
      for (const Id own : {e.face, side.shape->edges[e.twin].face})
        meetings.push_back(
            {of_body ? own : p.face, of_body ? p.face : own, (of_body ? body_passes : cutter_passes) + i, &p});
    }
  }
  std::sort(meetings.begin(), meetings.end(), [](const Meeting& p, const Meeting& q) {
    return std::tie(p.body_face, p.cutter_face, p.corner) < std::tie(q.body_face, q.cutter_face, q.corner);
  });
  const auto cutter_faces = static_cast<Id>(body.shape->faces.size());
  for (auto begin = meetings.begin(); begin != meetings.end();) {
    const auto end = std::find_if(begin, meetings.end(), [&](const Meeting& m) {
      return m.body_face != begin->body_face || m.cutter_face != begin->cutter_face;
    });
    if ((end - begin) % 2 != 0) return false;
    const Vec3 way = cross(body.shape->faces[begin->body_face].normal, cutter.shape->faces[begin->cutter_face].normal);
    std::sort(begin, end,
              [way](const Meeting& p, const Meeting& q) { return dot(way, p.pass->at) < dot(way, q.pass->at); });
    for (auto m = begin; m + 1 != end; ++m)
      if (dot(way, m[1].pass->at - m->pass->at) < touching_mm * length(way)) return false;
    for (auto m = begin; m != end; m += 2) {
      // With the body's outside up and the cutter's to the right, the body that is left is on the right of `way`.
      out.push_back({m[1].corner, m->corner, m->body_face, none, none});
      out.push_back({m->corner, m[1].corner, cutter_faces + m->cutter_face, none, none});
    }
    begin = end;
  }
  return true;
}

/// Each piece goes on where another of its face begins: at a pass that is one piece, at a corner that of the next edge.
/// False where there is not one.
bool join_pieces(const Shape& body, const Shape& cutter, std::vector<Shape::Edge>& pieces) {
  const auto cutter_faces = static_cast<Id>(body.faces.size());
  std::vector<Id> cutter_before(cutter.edges.size());
  for (Id i = 0; i < cutter.edges.size(); ++i) cutter_before[cutter.edges[i].next] = i;
  const auto begins = [](const Shape::Edge& p) { return std::make_pair(p.face, p.from); };
  std::sort(pieces.begin(), pieces.end(), [](const Shape::Edge& p, const Shape::Edge& q) {
    return std::tie(p.face, p.from, p.twin, p.to) < std::tie(q.face, q.from, q.twin, q.to);
  });
  const Id passes = static_cast<Id>(body.corners.size() + cutter.corners.size());
  std::vector<bool> taken(pieces.size(), false);
  for (Shape::Edge& p : pieces) {
    const auto key = std::make_pair(p.face, p.to);
    auto next = std::lower_bound(pieces.begin(), pieces.end(), key,
                                 [&](const Shape::Edge& q, const auto& k) { return begins(q) < k; });
    if (p.to < passes) {
      const Id follower = p.face < cutter_faces ? body.edges[p.twin].next : cutter_before[p.twin];
      while (next != pieces.end() && begins(*next) == key && next->twin != follower) ++next;
    }
    if (next == pieces.end() || begins(*next) != key) return false;
    p.next = static_cast<Id>(next - pieces.begin());
    if (taken[p.next]) return false;
    taken[p.next] = true;
  }
  return true;
}

/// Without the corners and faces that nothing is left of.
Shape tidied(const std::vector<Shape::Edge>& pieces, std::vector<Vec3> corners, const std::vector<double>& errors,
             const std::vector<Shape::Face>& faces) {
  Shape out;
  std::vector<Id> corner(corners.size(), none), face(faces.size(), none);
  for (Shape::Edge e : pieces) {
    for (Id* end : {&e.from, &e.to}) {
      if (corner[*end] == none) {
        corner[*end] = static_cast<Id>(out.corners.size());
        out.corners.push_back(corners[*end]);
        out.errors_mm.push_back(errors[*end]);
      }
      *end = corner[*end];
    }
    if (face[e.face] == none) {
      face[e.face] = static_cast<Id>(out.faces.size());
      out.faces.push_back(faces[e.face]);
    }
    e.face = face[e.face];
    out.edges.push_back(e);
  }
  return out;
}

}  // namespace

std::optional<Shape> cut(const Shape& body, const Shape& cutter) {
  Side own{&body, {}, {}, {}}, other{&cutter, {}, {}, {}};
  if (!find_passes(own, cutter) || !find_passes(other, body) || !find_inside(own, cutter) || !find_inside(other, body))
    return std::nullopt;
  std::vector<Vec3> corners = body.corners;
  corners.insert(corners.end(), cutter.corners.begin(), cutter.corners.end());
  std::vector<double> errors = body.errors_mm;
  errors.insert(errors.end(), cutter.errors_mm.begin(), cutter.errors_mm.end());
  const auto cutter_corners = static_cast<Id>(body.corners.size()), body_passes = static_cast<Id>(corners.size()),
             cutter_passes = body_passes + static_cast<Id>(own.passes.size());
  for (const Side* side : {&own, &other})
    for (const Pass& p : side->passes) {
      corners.push_back(p.at);
      errors.push_back(p.error_mm);
    }
  std::vector<Shape::Face> faces = body.faces;
  for (const Shape::Face& f : cutter.faces) faces.push_back({f.on, -f.normal, {}});

  std::vector<Shape::Edge> pieces;
  keep_borders(own, false, 0, 0, body_passes, pieces);
  keep_borders(other, true, static_cast<Id>(body.faces.size()), cutter_corners, cutter_passes, pieces);
  if (!meet_faces(own, other, body_passes, cutter_passes, pieces) || !join_pieces(body, cutter, pieces))
    return std::nullopt;
  Shape out = tidied(pieces, std::move(corners), errors, faces);
  if (!pair_twins(out)) return std::nullopt;
  set_boxes(out);
  return out;
}

}  // namespace bedwright
