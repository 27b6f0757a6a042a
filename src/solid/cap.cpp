#include "solid/cap.h"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/error.h"
#include "base/lattice.h"

namespace bedwright {
namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<std::uint32_t, Kernel>;
using FaceInfo = CGAL::Triangulation_face_base_with_info_2<int, Kernel>;
using FaceBase = CGAL::Constrained_triangulation_face_base_2<Kernel, FaceInfo>;
using Structure = CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>;
using Triangulation = CGAL::Constrained_Delaunay_triangulation_2<Kernel, Structure,
                                                                 CGAL::No_constraint_intersection_requiring_constructions_tag>;

// Inner points keep this share of the point spacing away from borders, so that no flat triangles arise there.
constexpr double border_share = 0.3;
constexpr int most_rounds = 60;

bool convex(const std::vector<Vec2>& points, const std::vector<std::uint32_t>& ring) {
  const std::size_t n = ring.size();
  for (std::size_t i = 0; i < n; ++i) {
    const Vec2 a = points[ring[i]], b = points[ring[(i + 1) % n]], c = points[ring[(i + 2) % n]];
    if (cross(b - a, c - b) <= 0) return false;
  }
  return true;
}

/// Cuts a convex ring in half again and again: as fat as its corners allow, without a search.
void halve(const std::vector<std::uint32_t>& ring, std::size_t from, std::size_t to,
           std::vector<std::array<std::uint32_t, 3>>& out) {
  if (to - from < 2) return;
  const std::size_t middle = (from + to) / 2;
  halve(ring, from, middle, out);
  halve(ring, middle, to, out);
  out.push_back({ring[from], ring[middle], ring[to]});
}

void disc(const std::vector<std::uint32_t>& ring, std::vector<std::array<std::uint32_t, 3>>& out) {
  const std::size_t third = ring.size() / 3, two = 2 * ring.size() / 3;
  halve(ring, 0, third, out);
  halve(ring, third, two, out);
  std::vector<std::uint32_t> last(ring.begin() + static_cast<std::ptrdiff_t>(two), ring.end());
  last.push_back(ring[0]);
  halve(last, 0, last.size() - 1, out);
  out.push_back({ring[0], ring[third], ring[two]});
}

struct Border {
  const std::vector<Vec2>& points;
  std::vector<std::pair<std::uint32_t, std::uint32_t>> edges;

  bool inside(Vec2 p) const {
    bool odd = false;
    for (const auto& e : edges) {
      const Vec2 a = points[e.first], b = points[e.second];
      if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)) odd = !odd;
    }
    return odd;
  }
  bool clear(Vec2 p, double gap) const {
    for (const auto& e : edges) {
      const Vec2 a = points[e.first], d = points[e.second] - a;
      const double t = std::clamp(dot(p - a, d) / dot(d, d), 0.0, 1.0);
      const Vec2 off = p - (a + t * d);
      if (dot(off, off) < gap * gap) return false;
    }
    return true;
  }
};

Border border_of(const std::vector<Vec2>& points, const CapBoundary& boundary) {
  Border b{points, {}};
  for (const auto& ring : boundary.rings)
    for (std::size_t i = 0; i < ring.size(); ++i) b.edges.push_back({ring[i], ring[(i + 1) % ring.size()]});
  for (const auto& run : boundary.runs)
    for (std::size_t i = 0; i + 1 < run.size(); ++i) b.edges.push_back({run[i], run[i + 1]});
  return b;
}

void mark_inside(Triangulation& t) {
  for (auto f : t.all_face_handles()) f->info() = -1;
  std::vector<Triangulation::Face_handle> here{t.infinite_face()}, next;
  int level = 0;
  t.infinite_face()->info() = 0;
  while (!here.empty()) {
    while (!here.empty()) {
      const auto f = here.back();
      here.pop_back();
      for (int i = 0; i < 3; ++i) {
        const auto g = f->neighbor(i);
        if (g->info() >= 0) continue;
        if (f->is_constrained(i)) {
          next.push_back(g);
        } else {
          g->info() = level;
          here.push_back(g);
        }
      }
    }
    ++level;
    for (const auto& g : next)
      if (g->info() < 0) {
        g->info() = level;
        here.push_back(g);
      }
    next.clear();
  }
}

struct Circle {
  Vec2 centre;
  double radius;
};

Circle least_enclosing(Vec2 a, Vec2 b, Vec2 c) {
  const auto obtuse = [](Vec2 p, Vec2 q, Vec2 r) { return dot(q - p, r - p) <= 0; };
  if (obtuse(a, b, c)) return {0.5 * (b + c), length(b - c) / 2};
  if (obtuse(b, c, a)) return {0.5 * (c + a), length(c - a) / 2};
  if (obtuse(c, a, b)) return {0.5 * (a + b), length(a - b) / 2};
  const Vec2 u = b - a, v = c - a;
  const double d = 2 * cross(u, v);
  const Vec2 o{(v.y * dot(u, u) - u.y * dot(v, v)) / d, (u.x * dot(v, v) - v.x * dot(u, u)) / d};
  return {a + o, length(o)};
}

Vec2 at(Triangulation::Vertex_handle v) { return {v->point().x(), v->point().y()}; }

/// Inner points for a curved cap: a triangular grid first, then wherever a triangle is still too large.
void add_inner_points(Triangulation& t, const Border& border, double radius_limit, double step_mm,
                      std::size_t first_id, std::vector<Vec2>& added) {
  const double spacing = std::sqrt(3.0) * radius_limit, row = 1.5 * radius_limit;
  const auto insert = [&](Vec2 p) {
    p = snap(p, {step_mm});
    const auto v = t.insert(Kernel::Point_2(p.x, p.y));
    v->info() = static_cast<std::uint32_t>(first_id + added.size());
    added.push_back(p);
  };
  Vec2 low = border.points[border.edges[0].first], high = low;
  for (const auto& e : border.edges) {
    const Vec2 p = border.points[e.first];
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  // Twice the cells that the box would need, one triangle pair each: refuse what can't be meant.
  if ((high.x - low.x) * (high.y - low.y) / (spacing * row) > 500000)
    throw CannotBuild("too-many-facets", "the seat would need more than a million facets at this chord_mm",
                      "raise tolerance.chord_mm");
  const int rows = static_cast<int>(std::floor((high.y - low.y) / row));
  for (int j = 0; j <= rows; ++j) {
    const double y = low.y + (high.y - low.y - rows * row) / 2 + j * row;
    const double shift = j % 2 ? spacing / 2 : 0;
    const int columns = static_cast<int>(std::floor((high.x - low.x - shift) / spacing));
    const double x0 = low.x + shift + (high.x - low.x - shift - columns * spacing) / 2;
    for (int i = 0; i <= columns; ++i) {
      const Vec2 p{x0 + i * spacing, y};
      if (border.clear(p, border_share * spacing) && border.inside(p)) insert(p);
    }
  }
  for (int round = 0; round < most_rounds; ++round) {
    mark_inside(t);
    std::vector<Vec2> wanted;
    for (auto f = t.finite_faces_begin(); f != t.finite_faces_end(); ++f) {
      if (f->info() % 2 == 0) continue;
      const Vec2 a = at(f->vertex(0)), b = at(f->vertex(1)), c = at(f->vertex(2));
      const Circle circle = least_enclosing(a, b, c);
      if (circle.radius <= radius_limit) continue;
      const Vec2 p = border.clear(circle.centre, border_share / 2 * spacing) && border.inside(circle.centre)
                         ? circle.centre
                         : (1.0 / 3.0) * (a + b + c);
      const bool crowded = std::any_of(wanted.begin(), wanted.end(),
                                       [&](Vec2 q) { return length(p - q) < border_share * spacing; });
      if (!crowded) wanted.push_back(p);
    }
    if (wanted.empty()) return;
    for (Vec2 p : wanted) insert(p);
  }
  throw CannotBuild("seat-not-refined", "the seat could not be divided finely enough near its border",
                    "raise tolerance.chord_mm or move the features on the seat apart");
}

}  // namespace

double enclosing_radius_limit(double curvature, double chord_mm) {
  // Half a percent in hand for the lattice.
  return curvature > 0 ? 0.995 * std::sqrt(2 * chord_mm / curvature) : 0;
}

double border_edge_limit(double radius_limit) { return std::sqrt(3.0) * radius_limit; }

CapTriangles triangulate_cap(const std::vector<Vec2>& points, const CapBoundary& boundary, double radius_limit,
                             double step_mm) {
  CapTriangles result;
  if (radius_limit <= 0 && boundary.runs.empty() && boundary.rings.size() == 1 && boundary.rings[0].size() >= 3) {
    std::vector<std::uint32_t> ring = boundary.rings[0];
    if (!convex(points, ring)) std::reverse(ring.begin(), ring.end());
    if (convex(points, ring)) {
      disc(ring, result.triangles);
      return result;
    }
  }
  const Border border = border_of(points, boundary);
  Triangulation t;
  std::map<std::uint32_t, Triangulation::Vertex_handle> handles;
  try {
    Triangulation::Face_handle hint;
    for (const auto& e : border.edges)
      for (std::uint32_t id : {e.first, e.second}) {
        auto& h = handles[id];
        if (h != Triangulation::Vertex_handle()) continue;
        h = t.insert(Kernel::Point_2(points[id].x, points[id].y), hint);
        h->info() = id;
        hint = h->face();
      }
    for (const auto& e : border.edges) t.insert_constraint(handles[e.first], handles[e.second]);
    if (radius_limit > 0) add_inner_points(t, border, radius_limit, step_mm, points.size(), result.added);
  } catch (const Triangulation::Intersection_of_constraints_exception&) {
    throw CannotBuild("features-nearly-touch", "edges of features cross after facetting",
                      "move the features apart, or let them overlap, by at least 0.1 mm");
  }
  mark_inside(t);
  for (auto f = t.finite_faces_begin(); f != t.finite_faces_end(); ++f)
    if (f->info() % 2 == 1)
      result.triangles.push_back({f->vertex(0)->info(), f->vertex(1)->info(), f->vertex(2)->info()});
  return result;
}

}  // namespace bedwright
