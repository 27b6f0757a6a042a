#include "solid/shape.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "base/box.h"
#include "base/loop.h"
#include "solid/half_edges.h"
#include "solid/plan.h"

namespace bedwright {
namespace {

using Id = std::uint32_t;
__extension__ using Int128 = __int128;
using Steps = std::array<std::int64_t, 3>;

Steps operator-(const Steps& a, const Steps& b) {
  return {a[0] - b[0], a[1] - b[1], a[2] - b[2]};
}

// 26 bits a coordinate, so 53 a normal and 81 a side: nothing is rounded.
Steps cross(const Steps& a, const Steps& b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}
Int128 dot(const Steps& a, const Steps& b) {
  return Int128{a[0]} * b[0] + Int128{a[1]} * b[1] + Int128{a[2]} * b[2];
}

std::int64_t steps(double mm, Lattice lattice) {
  return std::llround(mm / lattice.step_mm);
}

Vec3 unit(const Steps& n) {
  const Vec3 v{double(n[0]), double(n[1]), double(n[2])};
  return (1 / length(v)) * v;
}

using Ring = std::vector<Id>;

/// A face's rings by what hangs together: each outer one with the holes in it.
std::vector<std::vector<Ring>> pieces_of(const Shape& shape, Vec3 normal, std::vector<Ring> rings) {
  if (rings.size() < 2) return {std::move(rings)};
  const Vec3 right = std::fabs(normal.x) < 0.7 ? Vec3{1, 0, 0} : Vec3{0, 1, 0}, across = cross(normal, right),
             along = cross(across, normal);
  std::vector<std::vector<Vec2>> seen(rings.size());
  std::vector<std::size_t> outer;
  for (std::size_t i = 0; i < rings.size(); ++i) {
    for (const Id v : rings[i]) seen[i].push_back({dot(along, shape.corners[v]), dot(across, shape.corners[v])});
    if (polygon_area(seen[i]) > 0) outer.push_back(i);
  }
  if (outer.size() < 2) return {std::move(rings)};
  std::vector<std::vector<Ring>> pieces(outer.size());
  for (std::size_t i = 0; i < rings.size(); ++i) {
    std::size_t best = 0;
    double least = 1e300;
    for (std::size_t k = 0; k < outer.size(); ++k) {
      const double size = polygon_area(seen[outer[k]]);
      if (size < least && (outer[k] == i || (polygon_area(seen[i]) < 0 && inside_polygon(seen[outer[k]], seen[i][0]))))
        best = k, least = size;
    }
    pieces[best].push_back(std::move(rings[i]));
  }
  return pieces;
}

}  // namespace

void set_boxes(Shape& shape) {
  std::vector<bool> begun(shape.faces.size(), false);
  for (const Shape::Edge& e : shape.edges) {
    const Vec3 p = shape.corners[e.from];
    Box& box = shape.faces[e.face].box;
    box = begun[e.face] ? both(box, {p, p}) : Box{p, p};
    begun[e.face] = true;
  }
  if (!shape.corners.empty()) shape.box = {shape.corners[0], shape.corners[0]};
  for (const Vec3& p : shape.corners) shape.box = both(shape.box, {p, p});
}

// Counted into buckets of their lower corner, of which each is then sorted.
bool pair_twins(Shape& shape) {
  const auto low = [](const Shape::Edge& e) { return std::min(e.from, e.to); };
  const auto high = [](const Shape::Edge& e) { return std::max(e.from, e.to); };
  std::vector<Id> begin(shape.corners.size() + 1, 0);
  for (const Shape::Edge& e : shape.edges) ++begin[low(e) + 1];
  std::partial_sum(begin.begin(), begin.end(), begin.begin());
  std::vector<Id> order(shape.edges.size()), next(begin.begin(), begin.end() - 1);
  for (Id i = 0; i < order.size(); ++i) order[next[low(shape.edges[i])]++] = i;
  for (std::size_t v = 0; v + 1 < begin.size(); ++v) {
    const auto first = order.begin() + begin[v], last = order.begin() + begin[v + 1];
    std::sort(first, last, [&](Id a, Id b) { return high(shape.edges[a]) < high(shape.edges[b]); });
    if ((last - first) % 2 != 0) return false;
    for (auto at = first; at != last; at += 2) {
      Shape::Edge &a = shape.edges[at[0]], &b = shape.edges[at[1]];
      if (a.from != b.to || a.to != b.from) return false;
      if (at != first && high(shape.edges[at[-1]]) == high(a)) return false;
      a.twin = at[1];
      b.twin = at[0];
    }
  }
  return true;
}

Shape shape_of(const Mesh& mesh, Lattice lattice) {
  std::vector<Steps> points;
  points.reserve(mesh.vertices.size());
  for (const Vec3& v : mesh.vertices) points.push_back({steps(v.x, lattice), steps(v.y, lattice), steps(v.z, lattice)});
  std::vector<Steps> normals;
  normals.reserve(mesh.triangles.size());
  for (const auto& t : mesh.triangles)
    normals.push_back(cross(points[t[1]] - points[t[0]], points[t[2]] - points[t[0]]));
  HalfEdges half = half_edges_of(mesh);
  std::vector<std::pair<Id, Id>> flat;
  for (Id h = 0; h < half.twin.size(); ++h) {
    const Id g = half.twin[h];
    if (g > h && dot(normals[h / 3], points[to_of(mesh, next_of(g))] - points[from_of(mesh, h)]) == 0)
      flat.push_back({h / 3, g / 3});
  }
  const FaceBorders borders = borders_of(mesh, std::move(half), flat);

  Shape shape;
  std::vector<Id> face(mesh.triangles.size());
  for (Id f = 0; f < face.size(); ++f) {
    if (borders.face[f] != f) {
      face[f] = face[borders.face[f]];
      continue;
    }
    face[f] = static_cast<Id>(shape.faces.size());
    shape.faces.push_back({mesh.vertices[mesh.triangles[f][0]], unit(normals[f]), {}});
  }
  std::vector<Id> corner(mesh.vertices.size(), 0);
  for (Id v = 0; v < corner.size(); ++v) {
    if (borders.changes[v] < 3) continue;
    corner[v] = static_cast<Id>(shape.corners.size());
    shape.corners.push_back(mesh.vertices[v]);
  }
  shape.errors_mm.assign(shape.corners.size(), 0);
  const auto starts = [&](Id h) { return borders.is_border(h) && borders.changes[from_of(mesh, h)] > 2; };
  std::vector<Id> edge(borders.edges.twin.size(), 0);
  for (Id h = 0; h < edge.size(); ++h) {
    if (!starts(h)) continue;
    edge[h] = static_cast<Id>(shape.edges.size());
    shape.edges.push_back({corner[from_of(mesh, h)], 0, face[h / 3], 0, 0});
  }
  for (Id h = 0; h < edge.size(); ++h) {
    if (!starts(h)) continue;
    // Straight on past what only lies on the edge.
    Id last = h;
    while (!starts(borders.next_border(last))) last = borders.next_border(last);
    const Id next = borders.next_border(last);
    shape.edges[edge[h]].to = corner[from_of(mesh, next)];
    shape.edges[edge[h]].next = edge[next];
    // The twin begins where this one ends.
    shape.edges[edge[h]].twin = edge[borders.edges.twin[last]];
  }
  set_boxes(shape);
  return shape;
}

bool flush(const Shape& a, const Shape& b, Lattice lattice) {
  constexpr double parallel = 1e-10;  // one less a cosine: a micrometre over 100 mm, far below what is drawn aslant
  for (const Shape::Face& g : b.faces) {
    const Box near = widened(g.box, lattice.step_mm);
    if (apart(near, a.box)) continue;
    for (const Shape::Face& f : a.faces)
      if (std::fabs(dot(f.normal, g.on - f.on)) < lattice.step_mm &&
          1 - std::fabs(dot(f.normal, g.normal)) < parallel && !apart(f.box, near))
        return true;
  }
  return false;
}

Shape moved(Shape shape, Vec3 by) {
  for (Vec3& p : shape.corners) p = p + by;
  for (Shape::Face& f : shape.faces) f.on = f.on + by;
  set_boxes(shape);
  return shape;
}

PlaneFaces faces_of(const Shape& shape, Lattice lattice) {
  PlaneFaces out;
  // What lies half way, as far as can be told, goes up, as if it were exact.
  const Vec3 up{most_corner_error_mm, most_corner_error_mm, most_corner_error_mm};
  for (const Vec3& p : shape.corners) out.points.push_back(snap(p + up, lattice));
  std::vector<std::vector<Ring>> rings(shape.faces.size());
  std::vector<bool> walked(shape.edges.size(), false);
  for (Id begin = 0; begin < shape.edges.size(); ++begin) {
    if (walked[begin]) continue;
    Ring ring;
    Id here = begin;
    do {
      walked[here] = true;
      ring.push_back(shape.edges[here].from);
      here = shape.edges[here].next;
    } while (here != begin);
    rings[shape.edges[begin].face].push_back(std::move(ring));
  }
  for (Id f = 0; f < rings.size(); ++f)
    for (std::vector<Ring>& piece : pieces_of(shape, shape.faces[f].normal, std::move(rings[f])))
      out.faces.push_back({std::move(piece), shape.faces[f].normal});
  return out;
}

}  // namespace bedwright
