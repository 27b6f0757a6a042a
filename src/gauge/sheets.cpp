#include "gauge/sheets.h"

#include <algorithm>
#include <cmath>

#include "base/close_pairs.h"
#include "base/exact.h"
#include "base/joined.h"
#include "base/large_pages.h"

namespace bedwright {
namespace {

constexpr double least_lean = 0.2;  // cosine between a facet and its sheet's axis: steeper ones begin another sheet
// Of the square of the box's diagonal: a component of a facing is the difference of two products that are smaller, so
// it is off by less than (3 + 16 e) e of twice that, e = 2^-53 (Shewchuk, as in base/exact.h), and beyond it its sign
// is right.
constexpr double sure_share = 1e-15;
constexpr std::uint32_t nowhere = 0xffffffffu;
constexpr std::size_t questions_an_edge = 256;

struct Side {
  int axis = 0;  ///< 0, 1, 2: seen along x, y, z
  int turn = 0;  ///< which way the corners run there: +1, -1
};

struct Border {
  std::uint32_t from, to;
};

double coordinate(Vec3 v, int axis) {
  return axis == 0 ? v.x : axis == 1 ? v.y : v.z;
}

/// What facets look to, and which of them surely do.
class Sides {
 public:
  Sides(const Mesh& mesh, const std::vector<Facing>& facings) : mesh_(mesh), facings_(facings) {
    const Box box = bounding_box(mesh);
    sure_ = sure_share * dot(box.high - box.low, box.high - box.low);
  }

  Side of(std::uint32_t f) const {
    const Vec3& n = facings_[f].vector;
    const double x = std::fabs(n.x), y = std::fabs(n.y), z = std::fabs(n.z);
    const int axis = z >= x && z >= y ? 2 : x >= y ? 0 : 1;
    return {axis, turn(f, axis)};
  }

  bool looks_there(std::uint32_t f, const Side& side) const {
    const Facing& facing = facings_[f];
    const double along = side.turn * coordinate(facing.vector, side.axis);
    return along > 0 && along >= least_lean * facing.twice_area && turn(f, side.axis) == side.turn;
  }

 private:
  /// The sign of the facet's area as seen along the axis.
  int turn(std::uint32_t f, int axis) const {
    const double along = coordinate(facings_[f].vector, axis);
    if (std::fabs(along) > sure_) return along > 0 ? 1 : -1;
    const auto& t = mesh_.triangles[f];
    return orient_plane(mesh_.vertices[t[0]], mesh_.vertices[t[1]], mesh_.vertices[t[2]], axis);
  }

  const Mesh& mesh_;
  const std::vector<Facing>& facings_;
  double sure_ = 0;
};

/// What a sheet's proof needs, kept from one to the next.
struct Scratch {
  std::vector<Border> border;
  std::vector<std::uint32_t> place_of, next, on_path, path;  ///< place_of: per vertex, where its edges begin in border
};

/// Whether two edges of a border whose boxes meet do so themselves, seen along the axis, in more than a common corner.
bool edges_meet(const Mesh& mesh, const Border& e, const Border& f, int axis) {
  const auto at = [&](std::uint32_t v) { return mesh.vertices[v]; };
  const auto seen = [&](std::uint32_t v) { return seen_along(mesh.vertices[v], axis); };
  const bool ff = e.from == f.from, ft = e.from == f.to, tf = e.to == f.from, tt = e.to == f.to;
  if (ff + ft + tf + tt > 1) return true;
  if (ff || ft || tf || tt) {
    const std::uint32_t v = ff || ft ? e.from : e.to, p = ff || ft ? e.to : e.from, q = ff || tf ? f.to : f.from;
    if (orient_plane(at(v), at(p), at(q), axis) != 0) return false;
    return dot(seen(p) - seen(v), seen(q) - seen(v)) > 0;
  }
  const Vec3 a = at(e.from), b = at(e.to), c = at(f.from), d = at(f.to);
  const int abc = orient_plane(a, b, c, axis), abd = orient_plane(a, b, d, axis);
  if (abc * abd > 0) return false;
  // All on one line: their boxes meet, so they do.
  return orient_plane(c, d, a, axis) * orient_plane(c, d, b, axis) <= 0;
}

/// How many of the simple cycles that the border falls into turn left; -1 where it is no border of a sheet.
int left_cycles(const Mesh& mesh, const Side& side, Scratch& s) {
  const auto before = [&](std::uint32_t v, std::uint32_t w) {
    const Vec2 p = seen_along(mesh.vertices[v], side.axis), q = seen_along(mesh.vertices[w], side.axis);
    return p.x != q.x ? p.x < q.x : p.y < q.y;
  };
  const auto turns_left = [&](std::size_t begin, std::size_t end) {
    std::size_t first = begin;
    for (std::size_t i = begin + 1; i < end; ++i)
      if (before(s.path[i], s.path[first])) first = i;
    const std::uint32_t v = s.path[first], previous = s.path[first == begin ? end - 1 : first - 1],
                        next = s.path[first + 1 == end ? begin : first + 1];
    return side.turn * orient_plane(mesh.vertices[previous], mesh.vertices[v], mesh.vertices[next], side.axis) > 0;
  };
  int left = 0;
  for (const Border& start : s.border) {
    std::uint32_t v = start.from;
    s.path.clear();
    for (;;) {
      const std::uint32_t place = s.place_of[v];
      if (place == nowhere) return -1;
      if (const std::uint32_t there = s.on_path[place]; there != nowhere) {
        left += turns_left(there, s.path.size());
        for (std::size_t i = there; i < s.path.size(); ++i) s.on_path[s.place_of[s.path[i]]] = nowhere;
        s.path.resize(there);
      }
      const std::uint32_t edge = s.next[place];
      if (edge == s.border.size() || s.border[edge].from != v) break;
      ++s.next[place];
      s.on_path[place] = static_cast<std::uint32_t>(s.path.size());
      s.path.push_back(v);
      v = s.border[edge].to;
    }
    if (!s.path.empty()) return -1;
  }
  return left;
}

bool border_is_simple(const Mesh& mesh, const Side& side, const std::vector<Border>& border) {
  const auto count = static_cast<std::uint32_t>(border.size());
  BoxedGroups edges;
  edges.items.reserve(count);
  for (std::uint32_t i = 0; i < count; ++i) {
    Boxed edge{box_of({mesh.vertices[border[i].from], mesh.vertices[border[i].to]}), i};
    edge.box.low[side.axis] = edge.box.high[side.axis] = 0;
    edges.items.push_back(edge);
  }
  edges.first = {0, count};
  edges.apart = {0};
  bool simple = true;
  // A border of which so many edges lie in each other's boxes is left to the search facet by facet, which is bounded.
  std::size_t questions = questions_an_edge * count;
  for_each_close_pair(std::move(edges), [&](std::uint32_t e, std::uint32_t f) {
    simple = questions-- > 0 && !edges_meet(mesh, border[e], border[f], side.axis);
    return simple;
  });
  return simple;
}

bool is_proven(const Mesh& mesh, const Side& side, Scratch& s) {
  std::sort(s.border.begin(), s.border.end(),
            [](const Border& a, const Border& b) { return a.from != b.from ? a.from < b.from : a.to < b.to; });
  s.next.assign(s.border.size(), 0);
  s.on_path.assign(s.border.size(), nowhere);
  for (std::uint32_t i = static_cast<std::uint32_t>(s.border.size()); i-- > 0;) {
    s.place_of[s.border[i].from] = i;
    s.next[i] = i;
  }
  const bool proven = left_cycles(mesh, side, s) == 1 && border_is_simple(mesh, side, s.border);
  for (const Border& edge : s.border) s.place_of[edge.from] = nowhere;
  return proven;
}

}  // namespace

Sheets sheets_of(const Mesh& welded, const Topology& topology, const std::vector<Facing>& facings) {
  Sheets sheets;
  reserve_large(sheets.facets, welded.triangles.size());
  std::vector<std::uint32_t>& of_facet = sheets.of_facet;
  assign_large(of_facet, welded.triangles.size(), no_sheet);
  std::vector<std::uint32_t> stack;
  Scratch scratch;
  assign_large(scratch.place_of, welded.vertices.size(), nowhere);
  const Sides sides(welded, facings);
  const auto across = [&](std::uint32_t h) {
    return topology.other[h] == no_edge || topology.against[h] ? no_edge : facet_of(topology.other[h]);
  };
  for (std::uint32_t seed = 0; seed < welded.triangles.size(); ++seed) {
    if (of_facet[seed] != no_sheet || has_repeated_vertex(welded.triangles[seed]) || is_null(facings[seed].vector))
      continue;
    const Side side = sides.of(seed);
    const auto number = static_cast<std::uint32_t>(sheets.first.size());
    const std::size_t begin = sheets.facets.size();
    sheets.first.push_back(static_cast<std::uint32_t>(begin));
    sheets.joined.push_back(number);
    of_facet[seed] = number;
    stack.assign(1, seed);
    while (!stack.empty()) {
      const std::uint32_t f = stack.back();
      stack.pop_back();
      sheets.facets.push_back(f);
      if (side.turn == 0) continue;
      for (std::uint32_t k = 0; k < 3; ++k) {
        const std::uint32_t g = across(3 * f + k);
        if (g == no_edge || of_facet[g] != no_sheet || !sides.looks_there(g, side)) continue;
        of_facet[g] = number;
        stack.push_back(g);
      }
    }
    scratch.border.clear();
    for (std::size_t i = begin; i < sheets.facets.size(); ++i)
      for (std::uint32_t k = 0; k < 3; ++k) {
        const std::uint32_t h = 3 * sheets.facets[i] + k, g = across(h), beyond = g == no_edge ? no_sheet : of_facet[g];
        if (beyond == number) continue;
        scratch.border.push_back({start_of(welded, h), end_of(welded, h)});
        if (beyond != no_sheet) join(sheets.joined, number, beyond);
      }
    sheets.proven.push_back(sheets.facets.size() == begin + 1 || is_proven(welded, side, scratch));
  }
  for (std::uint32_t s = 0; s < sheets.joined.size(); ++s) sheets.joined[s] = root_of(sheets.joined, s);
  sheets.first.push_back(static_cast<std::uint32_t>(sheets.facets.size()));
  return sheets;
}

}  // namespace bedwright
