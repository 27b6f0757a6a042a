#include "solid/meet.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Triangle_3.h>
#include <CGAL/intersections.h>

#include <algorithm>
#include <array>
#include <vector>

#include "base/box.h"
#include "base/trig.h"
#include "solid/library_cut.h"

namespace bedwright {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Point = Kernel::Point_3;

bool holds(const Box& outer, const Box& inner) {
  return outer.low.x <= inner.low.x && inner.high.x <= outer.high.x && outer.low.y <= inner.low.y &&
         inner.high.y <= outer.high.y && outer.low.z <= inner.low.z && inner.high.z <= outer.high.z;
}

struct Facet {
  Kernel::Triangle_3 triangle;
  Box box;
};

Point point(Vec3 p) {
  return {p.x, p.y, p.z};
}

/// The facets that reach into the box.
std::vector<Facet> facets_in(const Mesh& mesh, const Box& box) {
  std::vector<Facet> facets;
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], c = mesh.vertices[t[2]];
    const Box own{{std::min({a.x, b.x, c.x}), std::min({a.y, b.y, c.y}), std::min({a.z, b.z, c.z})},
                  {std::max({a.x, b.x, c.x}), std::max({a.y, b.y, c.y}), std::max({a.z, b.z, c.z})}};
    if (!apart(own, box)) facets.push_back({{point(a), point(b), point(c)}, own});
  }
  return facets;
}

/// Whether the way from a to b passes p on its right, in plan, level with it: 1 rising, -1 falling, 0 not. Each edge
/// is asked from its lower end, so that both its facets hear the same answer.
int passes(Vec2 a, Vec2 b, Vec2 p) {
  if ((a.y <= p.y) == (b.y <= p.y)) return 0;
  const bool rising = a.y < b.y;
  const Vec2 low = rising ? a : b, high = rising ? b : a;
  if (cross(high - low, p - low) <= 0) return 0;
  return rising ? 1 : -1;
}

/// A corner that touches no facet of `outer`: of the facets over it, as many look up as down where it lies outside, one
/// more looks up where it lies inside.
bool lies_inside(const Mesh& inner, const Mesh& outer) {
  const Vec3 p = inner.vertices.front();
  const Vec2 in_plan{p.x, p.y};
  int above = 0;
  for (const auto& t : outer.triangles) {
    const Vec3 a = outer.vertices[t[0]], b = outer.vertices[t[1]], c = outer.vertices[t[2]];
    if (std::max({a.z, b.z, c.z}) <= p.z) continue;
    const Vec2 u{a.x, a.y}, v{b.x, b.y}, w{c.x, c.y};
    const int covers = passes(u, v, in_plan) + passes(v, w, in_plan) + passes(w, u, in_plan);
    if (covers == 0) continue;
    const Vec3 n = cross(b - a, c - a);
    if (std::min({a.z, b.z, c.z}) > p.z || dot(n, p - a) * covers < 0) above += covers;
  }
  return above > 0;
}

Box common_box(const Box& a, const Box& b) {
  return {{std::max(a.low.x, b.low.x), std::max(a.low.y, b.low.y), std::max(a.low.z, b.low.z)},
          {std::min(a.high.x, b.high.x), std::min(a.high.y, b.high.y), std::min(a.high.z, b.high.z)}};
}

}  // namespace

double Overlap::depth_mm() const {
  return std::min({box.high.x - box.low.x, box.high.y - box.low.y, box.high.z - box.low.z});
}

bool meets(const Mesh& a, const Mesh& b) {
  if (a.triangles.empty() || b.triangles.empty()) return false;
  const Box box_a = bounding_box(a), box_b = bounding_box(b);
  if (apart(box_a, box_b)) return false;
  const Box both = common_box(box_a, box_b);
  const std::vector<Facet> of_a = facets_in(a, both), of_b = facets_in(b, both);
  for (const Facet& f : of_a)
    for (const Facet& g : of_b)
      if (!apart(f.box, g.box) && CGAL::do_intersect(f.triangle, g.triangle)) return true;
  return (holds(box_a, box_b) && lies_inside(b, a)) || (holds(box_b, box_a) && lies_inside(a, b));
}

std::optional<Overlap> overlap(const Mesh& a, const Mesh& b, double touch_mm) {
  if (!meets(a, b)) return std::nullopt;
  const std::optional<Mesh> body = common_body(a, b);
  const Overlap common =
      body ? Overlap{bounding_box(*body), volume(*body)} : Overlap{common_box(bounding_box(a), bounding_box(b)), 0};
  if (common.depth_mm() <= touch_mm) return std::nullopt;
  return common;
}

Mesh box_mesh(const Box& box) {
  Mesh m;
  for (int i = 0; i < 8; ++i)
    m.vertices.push_back(
        {i & 1 ? box.high.x : box.low.x, i & 2 ? box.high.y : box.low.y, i & 4 ? box.high.z : box.low.z});
  m.triangles = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                 {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  return m;
}

Mesh cylinder_mesh(Vec2 axis, double radius, double low_z, double high_z, int sides) {
  Mesh m;
  const auto n = static_cast<std::uint32_t>(sides);
  for (std::uint32_t i = 0; i < n; ++i) {
    const double angle = 2 * pi * i / n;
    const double x = axis.x + radius * cos_rad(angle), y = axis.y + radius * sin_rad(angle);
    m.vertices.push_back({x, y, low_z});
    m.vertices.push_back({x, y, high_z});
  }
  for (std::uint32_t i = 0; i < n; ++i) {
    const std::uint32_t a = 2 * i, b = 2 * ((i + 1) % n);
    m.triangles.push_back({a, b, b + 1});
    m.triangles.push_back({a, b + 1, a + 1});
    if (i > 0 && i + 1 < n) {
      m.triangles.push_back({0, b, a});
      m.triangles.push_back({1, a + 1, b + 1});
    }
  }
  return m;
}

}  // namespace bedwright
