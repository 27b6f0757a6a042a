#include "solid/cap.h"

#include <CGAL/Constrained_Delaunay_triangulation_2.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Triangulation_face_base_with_info_2.h>
#include <CGAL/Triangulation_vertex_base_with_info_2.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/error.h"
#include "base/lattice.h"

namespace bedwright {
namespace {

__extension__ using Int128 = __int128;

/// Points of a lattice of 24 bits (base/lattice.h): the two questions that a triangulation asks most need no filter
/// then. Differences have 25 bits, so their products and sums of two are exact in a double, and so many steps squared
/// in 64 bits.
struct Kernel : CGAL::Exact_predicates_inexact_constructions_kernel {
  struct Orientation_2 {
    using result_type = CGAL::Orientation;
    CGAL::Orientation operator()(const Point_2& p, const Point_2& q, const Point_2& r) const {
      return CGAL::sign((q.x() - p.x()) * (r.y() - p.y()) - (q.y() - p.y()) * (r.x() - p.x()));
    }
  };
  struct Side_of_oriented_circle_2 {
    using result_type = CGAL::Oriented_side;
    CGAL::Oriented_side operator()(const Point_2& p, const Point_2& q, const Point_2& r, const Point_2& t) const {
      const Vec2 a = off(p, t), b = off(q, t), c = off(r, t);
      const Int128 turned =
          product(dot(a, a), cross(b, c)) + product(dot(b, b), cross(c, a)) + product(dot(c, c), cross(a, b));
      return turned > 0 ? CGAL::ON_POSITIVE_SIDE : turned < 0 ? CGAL::ON_NEGATIVE_SIDE : CGAL::ON_ORIENTED_BOUNDARY;
    }

   private:
    static Vec2 off(const Point_2& p, const Point_2& t) { return {p.x() - t.x(), p.y() - t.y()}; }
    static Int128 product(double a, double b) { return Int128{steps(a)} * steps(b); }
    static std::int64_t steps(double square_mm) { return static_cast<std::int64_t>(square_mm * (65536.0 * 65536.0)); }
  };
  Orientation_2 orientation_2_object() const { return {}; }
  Side_of_oriented_circle_2 side_of_oriented_circle_2_object() const { return {}; }
};
using VertexBase = CGAL::Triangulation_vertex_base_with_info_2<std::uint32_t, Kernel>;
using FaceInfo = CGAL::Triangulation_face_base_with_info_2<int, Kernel>;
using FaceBase = CGAL::Constrained_triangulation_face_base_2<Kernel, FaceInfo>;
using Structure = CGAL::Triangulation_data_structure_2<VertexBase, FaceBase>;
using Triangulation =
    CGAL::Constrained_Delaunay_triangulation_2<Kernel, Structure,
                                               CGAL::No_constraint_intersection_requiring_constructions_tag>;

// Inner points keep this share of the point spacing away from borders, so that no flat triangles arise there.
constexpr double border_share = 0.3;
constexpr int most_rounds = 60;
constexpr std::size_t most_bands = 1000;
// Flatter facets than this in a strip are left to the triangulation that has no flatter ones than it must.
constexpr double least_strip_height_mm = 0.05;

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

double twice_area(const std::vector<Vec2>& points, const std::vector<std::uint32_t>& ring) {
  double sum = 0;
  const Vec2 o = points[ring[0]];
  for (std::size_t i = 1; i + 1 < ring.size(); ++i) sum += cross(points[ring[i]] - o, points[ring[i + 1]] - o);
  return sum;
}

double height_of(Vec2 a, Vec2 b, Vec2 c) {
  const double longest = std::max({dot(b - a, b - a), dot(c - b, c - b), dot(a - c, a - c)});
  return cross(b - a, c - a) / std::sqrt(longest);
}

/// A ring with another in it, as a counterbore's floor or a boss's top: a strip once round, the shorter diagonal each
/// time. Facets that all turn left and together have just these two borders cover the region once, so that is the only
/// test; false, with nothing put out, where one does not or is flat.
bool strip(const std::vector<Vec2>& points, std::vector<std::uint32_t> outer, std::vector<std::uint32_t> inner,
           std::vector<std::array<std::uint32_t, 3>>& out) {
  double outer_area = twice_area(points, outer), inner_area = twice_area(points, inner);
  if (std::fabs(outer_area) < std::fabs(inner_area)) std::swap(outer, inner), std::swap(outer_area, inner_area);
  if (outer_area < 0) std::reverse(outer.begin(), outer.end());
  if (inner_area < 0) std::reverse(inner.begin(), inner.end());
  const std::size_t n = outer.size(), m = inner.size();
  // NOLINTNEXTLINE(clang-analyzer-core.DivideZero): a ring has three corners, which is lost on it in the swap
  const auto o = [&](std::size_t i) { return points[outer[i % n]]; };
  const auto in = [&](std::size_t j) { return points[inner[j % m]]; };
  const auto apart = [](Vec2 a, Vec2 b) { return dot(b - a, b - a); };
  std::size_t first = 0;
  for (std::size_t j = 1; j < m; ++j)
    if (apart(o(0), in(j)) < apart(o(0), in(first))) first = j;
  std::vector<std::array<std::uint32_t, 3>> facets;
  facets.reserve(n + m);
  for (std::size_t i = 0, j = first; i < n || j < first + m;) {
    const bool may_outer = i < n && height_of(o(i), o(i + 1), in(j)) >= least_strip_height_mm;
    const bool may_inner = j < first + m && height_of(o(i), in(j + 1), in(j)) >= least_strip_height_mm;
    if (!may_outer && !may_inner) return false;
    if (may_outer && (!may_inner || apart(o(i + 1), in(j)) <= apart(o(i), in(j + 1)))) {
      facets.push_back({outer[i % n], outer[(i + 1) % n], inner[j % m]});
      ++i;
    } else {
      facets.push_back({outer[i % n], inner[(j + 1) % m], inner[j % m]});
      ++j;
    }
  }
  out.insert(out.end(), facets.begin(), facets.end());
  return true;
}

/// The border's edges, each with what the two questions ask of it, in bands along y: a question looks at one band.
struct Border {
  struct Edge {
    Vec2 a, d;
    double low = 0, high = 0;  ///< along y
    double inverse = 0;        ///< of its length squared
  };
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  double band_mm = 0;
  std::vector<std::size_t> start;  ///< by band, and the end of the last
  std::vector<Edge> edges;         ///< band after band, each with those that come within its reach

  std::size_t band_of(double y) const {
    return static_cast<std::size_t>(std::clamp((y - low.y) / band_mm, 0.0, static_cast<double>(start.size() - 2)));
  }
  bool inside(Vec2 p) const {
    bool odd = false;
    const std::size_t band = band_of(p.y);
    for (std::size_t i = start[band]; i < start[band + 1]; ++i) {
      const Edge& e = edges[i];
      if (e.low <= p.y && p.y < e.high && p.x < e.a.x + e.d.x * (p.y - e.a.y) / e.d.y) odd = !odd;
    }
    return odd;
  }
  /// Up to the reach that the border was made for.
  bool clear(Vec2 p, double gap) const {
    const std::size_t band = band_of(p.y);
    for (std::size_t i = start[band]; i < start[band + 1]; ++i) {
      const Edge& e = edges[i];
      if (p.y < e.low - gap || p.y > e.high + gap) continue;
      const double t = std::clamp(dot(p - e.a, e.d) * e.inverse, 0.0, 1.0);
      const Vec2 off = p - (e.a + t * e.d);
      if (dot(off, off) < gap * gap) return false;
    }
    return true;
  }
};

/// Calls back with the ids of each edge's ends.
template <typename Act>
void for_edges(const CapBoundary& boundary, const Act& act) {
  for (const auto& ring : boundary.rings)
    for (std::size_t i = 0; i < ring.size(); ++i) act(ring[i], ring[i + 1 < ring.size() ? i + 1 : 0]);
  for (const auto& run : boundary.runs)
    for (std::size_t i = 0; i + 1 < run.size(); ++i) act(run[i], run[i + 1]);
}

Border border_of(const std::vector<Vec2>& points, const CapBoundary& boundary, double reach_mm) {
  std::vector<Border::Edge> all;
  Border b;
  for_edges(boundary, [&](std::uint32_t from, std::uint32_t to) {
    const Vec2 a = points[from], d = points[to] - a;
    all.push_back({a, d, std::min(a.y, points[to].y), std::max(a.y, points[to].y), 1 / dot(d, d)});
    b.low = {std::min(b.low.x, a.x), std::min(b.low.y, a.y)};
    b.high = {std::max(b.high.x, a.x), std::max(b.high.y, a.y)};
  });
  const double height = b.high.y - b.low.y;
  const auto bands = static_cast<std::size_t>(std::clamp(height / reach_mm, 1.0, static_cast<double>(most_bands)));
  b.band_mm = std::max(height / static_cast<double>(bands), 1e-9);
  b.start.assign(bands + 1, 0);
  const auto for_bands = [&](const Border::Edge& e, const auto& act) {
    for (std::size_t k = b.band_of(e.low - reach_mm), last = b.band_of(e.high + reach_mm); k <= last; ++k) act(k);
  };
  for (const Border::Edge& e : all) for_bands(e, [&](std::size_t k) { ++b.start[k + 1]; });
  std::partial_sum(b.start.begin(), b.start.end(), b.start.begin());
  b.edges.resize(b.start.back());
  std::vector<std::size_t> next(b.start.begin(), b.start.end() - 1);
  for (const Border::Edge& e : all) for_bands(e, [&](std::size_t k) { b.edges[next[k]++] = e; });
  return b;
}

constexpr std::uint32_t curve_cells = 128;

/// Place along a Hilbert curve over a square of cells.
std::uint32_t hilbert(std::uint32_t x, std::uint32_t y) {
  std::uint32_t d = 0;
  for (std::uint32_t s = curve_cells / 2; s > 0; s /= 2) {
    const std::uint32_t right = (x & s) ? 1 : 0, up = (y & s) ? 1 : 0;
    d += s * s * ((3 * right) ^ up);
    if (up) continue;
    if (right) x = curve_cells - 1 - x, y = curve_cells - 1 - y;
    std::swap(x, y);
  }
  return d;
}

/// The border's vertices, near ones after each other: a triangulation that grows so turns the fewest edges. Ends of
/// runs come more than once.
std::vector<std::uint32_t> along_curve(const std::vector<Vec2>& points, const CapBoundary& boundary) {
  std::vector<std::uint64_t> order;  // place, then id
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  for (const auto* set : {&boundary.rings, &boundary.runs})
    for (const auto& run : *set)
      for (const std::uint32_t id : run) {
        low = {std::min(low.x, points[id].x), std::min(low.y, points[id].y)};
        high = {std::max(high.x, points[id].x), std::max(high.y, points[id].y)};
        order.push_back(id);
      }
  const double cells = (curve_cells - 1) / std::max({high.x - low.x, high.y - low.y, 1e-9});
  for (std::uint64_t& entry : order) {
    const Vec2 p = cells * (points[entry] - low);
    entry |= std::uint64_t{hilbert(static_cast<std::uint32_t>(p.x), static_cast<std::uint32_t>(p.y))} << 32;
  }
  std::sort(order.begin(), order.end());
  std::vector<std::uint32_t> ids;
  ids.reserve(order.size());
  for (const std::uint64_t entry : order) ids.push_back(static_cast<std::uint32_t>(entry));
  return ids;
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

Vec2 at(Triangulation::Vertex_handle v) {
  return {v->point().x(), v->point().y()};
}

/// Inner points for a curved cap: a triangular grid first, then wherever a triangle is still too large. Leaves the
/// faces marked.
void add_inner_points(Triangulation& t, const std::vector<Vec2>& points, const CapBoundary& boundary,
                      double radius_limit, double step_mm, std::vector<Vec2>& added) {
  const double spacing = std::sqrt(3.0) * radius_limit, row = 1.5 * radius_limit;
  const Border border = border_of(points, boundary, border_share * spacing);
  const auto insert = [&](Vec2 p, Triangulation::Face_handle near) {
    p = snap(p, {step_mm});
    const auto v = t.insert(Kernel::Point_2(p.x, p.y), near);
    v->info() = static_cast<std::uint32_t>(points.size() + added.size());
    added.push_back(p);
    return v;
  };
  const Vec2 low = border.low, high = border.high;
  // Twice the cells that the box would need, one triangle pair each: refuse what can't be meant.
  if ((high.x - low.x) * (high.y - low.y) / (spacing * row) > 500000)
    throw CannotBuild("too-many-facets", "the seat would need more than a million facets at this chord_mm",
                      "raise tolerance.chord_mm");
  Triangulation::Vertex_handle row_begins, before;
  const int rows = static_cast<int>(std::floor((high.y - low.y) / row));
  for (int j = 0; j <= rows; ++j) {
    const double y = low.y + (high.y - low.y - rows * row) / 2 + j * row;
    const double shift = j % 2 ? spacing / 2 : 0;
    const int columns = static_cast<int>(std::floor((high.x - low.x - shift) / spacing));
    const double x0 = low.x + shift + (high.x - low.x - shift - columns * spacing) / 2;
    before = row_begins;
    row_begins = {};
    for (int i = 0; i <= columns; ++i) {
      const Vec2 p{x0 + i * spacing, y};
      if (!border.clear(p, border_share * spacing) || !border.inside(p)) continue;
      before = insert(p, before == Triangulation::Vertex_handle() ? Triangulation::Face_handle() : before->face());
      if (row_begins == Triangulation::Vertex_handle()) row_begins = before;
    }
  }
  for (int round = 0; round < most_rounds; ++round) {
    mark_inside(t);
    std::vector<std::pair<Vec2, Triangulation::Vertex_handle>> wanted;  // each with a corner near it
    for (auto f = t.finite_faces_begin(); f != t.finite_faces_end(); ++f) {
      if (f->info() % 2 == 0) continue;
      const Vec2 a = at(f->vertex(0)), b = at(f->vertex(1)), c = at(f->vertex(2));
      const Circle circle = least_enclosing(a, b, c);
      if (circle.radius <= radius_limit) continue;
      const Vec2 p = border.clear(circle.centre, border_share / 2 * spacing) && border.inside(circle.centre)
                         ? circle.centre
                         : (1.0 / 3.0) * (a + b + c);
      const bool crowded = std::any_of(wanted.begin(), wanted.end(),
                                       [&](const auto& q) { return length(p - q.first) < border_share * spacing; });
      if (!crowded) wanted.push_back({p, f->vertex(0)});
    }
    if (wanted.empty()) return;
    for (const auto& [p, corner] : wanted) insert(p, corner->face());
  }
  throw CannotBuild("seat-not-refined", "the seat could not be divided finely enough near its border",
                    "raise tolerance.chord_mm or move the features on the seat apart");
}

}  // namespace

double enclosing_radius_limit(double curvature, double chord_mm) {
  // Half a percent in hand for the lattice.
  return curvature > 0 ? 0.995 * std::sqrt(2 * chord_mm / curvature) : 0;
}

double border_edge_limit(double radius_limit) {
  return std::sqrt(3.0) * radius_limit;
}

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
  if (radius_limit <= 0 && boundary.runs.empty() && boundary.rings.size() == 2 && boundary.rings[0].size() >= 3 &&
      boundary.rings[1].size() >= 3 && strip(points, boundary.rings[0], boundary.rings[1], result.triangles))
    return result;
  Triangulation t;
  std::vector<Triangulation::Vertex_handle> handles(points.size());
  try {
    Triangulation::Face_handle hint;
    const auto vertex = [&](std::uint32_t id) {
      auto& h = handles[id];
      if (h != Triangulation::Vertex_handle()) return h;
      h = t.insert(Kernel::Point_2(points[id].x, points[id].y), hint);
      h->info() = id;
      hint = h->face();
      return h;
    };
    for (const std::uint32_t id : along_curve(points, boundary)) vertex(id);
    for_edges(boundary, [&](std::uint32_t from, std::uint32_t to) { t.insert_constraint(handles[from], handles[to]); });
    if (radius_limit > 0)
      add_inner_points(t, points, boundary, radius_limit, step_mm, result.added);
    else
      mark_inside(t);
  } catch (const Triangulation::Intersection_of_constraints_exception&) {
    throw CannotBuild("features-nearly-touch", "edges of features cross after facetting",
                      "move the features apart, or let them overlap, by at least 0.1 mm");
  }
  for (auto f = t.finite_faces_begin(); f != t.finite_faces_end(); ++f)
    if (f->info() % 2 == 1)
      result.triangles.push_back({f->vertex(0)->info(), f->vertex(1)->info(), f->vertex(2)->info()});
  return result;
}

}  // namespace bedwright
