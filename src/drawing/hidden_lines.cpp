#include "drawing/hidden_lines.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "drawing/clip.h"

namespace bedwright {
namespace {

constexpr double same_place_mm = 1e-6;    // crossings and ends nearer than this are one
constexpr double in_front_mm = 2e-4;      // a facet hides what lies farther behind it than this
constexpr double least_facet_mm2 = 1e-9;  // twice the area on paper of a facet that faces the viewer

using Triangle = std::array<Vec3, 3>;
using Segment = std::array<Vec2, 2>;

struct Edge {
  Vec3 a, b;
  bool plain = false;  // drawn only where it is seen
};

/// Everything in view coordinates: z toward the viewer.
struct Scene {
  std::vector<Triangle> front;    // facets that face the viewer
  std::vector<Segment> contours;  // where what is in front may change
  std::vector<Edge> edges;        // what to draw
  std::vector<Segment> cap;       // a section's cut faces, even-odd, in front of everything
};

Vec2 flat(Vec3 p) {
  return {p.x, p.y};
}

double twice_area(const Triangle& t) {
  return cross(flat(t[1]) - flat(t[0]), flat(t[2]) - flat(t[0]));
}

/// Things by the squares of a grid that their boxes touch.
class Grid {
 public:
  explicit Grid(const std::vector<std::pair<Vec2, Vec2>>& boxes) : low_{1e300, 1e300} {
    Vec2 high{-1e300, -1e300};
    for (const auto& [a, b] : boxes) {
      low_ = {std::min(low_.x, a.x), std::min(low_.y, a.y)};
      high = {std::max(high.x, b.x), std::max(high.y, b.y)};
    }
    if (boxes.empty()) low_ = high = {};
    const double wide = std::max(high.x - low_.x, 1e-3), tall = std::max(high.y - low_.y, 1e-3);
    const double side = std::max(std::sqrt(wide * tall / std::max<double>(1, static_cast<double>(boxes.size()))) * 1.5,
                                 std::max(wide, tall) / 96);
    nx_ = std::max(1, static_cast<int>(wide / side) + 1);
    ny_ = std::max(1, static_cast<int>(tall / side) + 1);
    side_ = side;
    start_.assign(cell_of(0, ny_) + 1, 0);
    for (const auto& [a, b] : boxes) each(a, b, [&](std::size_t cell) { ++start_[cell + 1]; });
    for (std::size_t i = 1; i < start_.size(); ++i) start_[i] += start_[i - 1];
    items_.resize(start_.back());
    std::vector<std::size_t> next(start_.begin(), start_.end() - 1);
    for (std::size_t i = 0; i < boxes.size(); ++i)
      each(boxes[i].first, boxes[i].second, [&](std::size_t cell) { items_[next[cell]++] = i; });
  }

  template <typename Do>
  void at(Vec2 p, Do&& visit) const {
    const std::size_t cell = cell_of(column(p.x), row(p.y));
    for (std::size_t k = start_[cell]; k < start_[cell + 1]; ++k)
      if (visit(items_[k])) return;
  }
  template <typename Do>
  void within(Vec2 a, Vec2 b, Do&& visit) const {
    each(a, b, [&](std::size_t cell) {
      for (std::size_t k = start_[cell]; k < start_[cell + 1]; ++k) visit(items_[k]);
    });
  }

 private:
  int column(double x) const { return std::clamp(static_cast<int>((x - low_.x) / side_), 0, nx_ - 1); }
  int row(double y) const { return std::clamp(static_cast<int>((y - low_.y) / side_), 0, ny_ - 1); }
  std::size_t cell_of(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(nx_) + static_cast<std::size_t>(x);
  }
  template <typename Do>
  void each(Vec2 a, Vec2 b, Do&& act) const {
    for (int y = row(a.y - same_place_mm); y <= row(b.y + same_place_mm); ++y)
      for (int x = column(a.x - same_place_mm); x <= column(b.x + same_place_mm); ++x) act(cell_of(x, y));
  }

  Vec2 low_;
  double side_ = 1;
  int nx_ = 1, ny_ = 1;
  std::vector<std::size_t> start_, items_;
};

std::pair<Vec2, Vec2> box_of(Vec2 a, Vec2 b) {
  return {{std::min(a.x, b.x), std::min(a.y, b.y)}, {std::max(a.x, b.x), std::max(a.y, b.y)}};
}

/// Where along a-b another segment crosses it, or ends on it.
void add_crossings(Vec2 a, Vec2 b, const Segment& other, std::vector<double>& at) {
  const Vec2 r = b - a, s = other[1] - other[0], w = other[0] - a;
  const double den = cross(r, s), rr = dot(r, r), ss = dot(s, s);
  if (rr == 0) return;
  if (std::fabs(den) > 1e-10 * std::sqrt(rr * ss)) {
    const double t = cross(w, s) / den, u = cross(w, r) / den;
    if (u > -1e-7 && u < 1 + 1e-7 && t > 0 && t < 1) at.push_back(t);
    return;
  }
  if (std::fabs(cross(w, r)) > same_place_mm * std::sqrt(rr)) return;
  for (const Vec2 end : other) {
    const double t = dot(end - a, r) / rr;
    if (t > 0 && t < 1) at.push_back(t);
  }
}

bool in_cap(Vec2 p, const std::vector<Segment>& cap) {
  bool inside = false;
  for (const Segment& s : cap)
    if ((s[0].y > p.y) != (s[1].y > p.y) && p.x < s[0].x + (p.y - s[0].y) / (s[1].y - s[0].y) * (s[1].x - s[0].x))
      inside = !inside;
  return inside;
}

struct Piece {
  Vec2 a, b;
  bool visible;
};

std::vector<Piece> sighted(const Scene& scene) {
  std::vector<std::pair<Vec2, Vec2>> facet_boxes, contour_boxes;
  for (const Triangle& t : scene.front) {
    auto box = box_of(flat(t[0]), flat(t[1]));
    const Vec2 c = flat(t[2]);
    facet_boxes.push_back({{std::min(box.first.x, c.x), std::min(box.first.y, c.y)},
                           {std::max(box.second.x, c.x), std::max(box.second.y, c.y)}});
  }
  for (const Segment& s : scene.contours) contour_boxes.push_back(box_of(s[0], s[1]));
  const Grid facets(facet_boxes), contours(contour_boxes);
  const auto hidden = [&](Vec3 p) {
    if (!scene.cap.empty() && in_cap(flat(p), scene.cap)) return true;
    bool found = false;
    facets.at(flat(p), [&](std::size_t i) {
      const Triangle& t = scene.front[i];
      if (std::max({t[0].z, t[1].z, t[2].z}) <= p.z + in_front_mm) return false;
      const double whole = twice_area(t);
      double depth = 0;
      for (std::size_t k = 0; k < 3; ++k) {
        const Vec3 &a = t[(k + 1) % 3], &b = t[(k + 2) % 3];
        const Vec2 side = flat(b) - flat(a);
        const double part = cross(side, flat(p) - flat(a));
        if (part < -same_place_mm * length(side)) return false;
        depth += part / whole * t[k].z;
      }
      return found = depth > p.z + in_front_mm;
    });
    return found;
  };
  std::vector<Piece> pieces;
  std::vector<double> at;
  std::vector<std::size_t> met;
  for (const Edge& e : scene.edges) {
    const Vec2 a = flat(e.a), b = flat(e.b);
    const double size = length(b - a);
    if (size < same_place_mm) continue;
    at = {0, 1};
    met.clear();
    const auto [low, high] = box_of(a, b);
    contours.within(low, high, [&](std::size_t i) { met.push_back(i); });
    std::sort(met.begin(), met.end());
    met.erase(std::unique(met.begin(), met.end()), met.end());
    for (const std::size_t i : met) add_crossings(a, b, scene.contours[i], at);
    std::sort(at.begin(), at.end());
    double from = 0;
    for (std::size_t i = 1; i < at.size(); ++i) {
      if ((at[i] - from) * size < same_place_mm && i + 1 < at.size()) continue;
      const double middle = (from + at[i]) / 2;
      const bool visible = !hidden(e.a + middle * (e.b - e.a));
      if (visible || !e.plain) {
        // Vertices stay what they are, to the last bit.
        const Vec2 p = from == 0 ? a : a + from * (b - a), q = at[i] == 1 ? b : a + at[i] * (b - a);
        pieces.push_back({p, q, visible});
      }
      from = at[i];
    }
  }
  return pieces;
}

struct Reach {
  double from, to;
  Vec2 a, b;
};

/// Union of reaches on one line, sorted; joins what touches.
std::vector<Reach> joined(std::vector<Reach> list) {
  std::sort(list.begin(), list.end(),
            [](const Reach& l, const Reach& r) { return std::tie(l.from, l.to) < std::tie(r.from, r.to); });
  std::vector<Reach> out;
  for (const Reach& r : list) {
    if (out.empty() || r.from > out.back().to + same_place_mm) {
      out.push_back(r);
    } else if (r.to > out.back().to) {
      out.back().to = r.to;
      out.back().b = r.b;
    }
  }
  return out;
}

std::vector<Reach> without(const std::vector<Reach>& list, const std::vector<Reach>& taken) {
  std::vector<Reach> out;
  for (Reach r : list) {
    bool gone = false;
    for (const Reach& t : taken) {
      if (t.to <= r.from + same_place_mm || t.from >= r.to - same_place_mm) continue;
      if (t.from > r.from + same_place_mm) out.push_back({r.from, t.from, r.a, t.a});
      if (t.to >= r.to - same_place_mm) {
        gone = true;
        break;
      }
      r.from = t.to;
      r.a = t.b;
    }
    if (!gone) out.push_back(r);
  }
  return out;
}

/// Pieces that lie on each other become one, visible before hidden.
std::vector<Piece> merged(const std::vector<Piece>& pieces) {
  using Key = std::array<long long, 3>;
  std::map<Key, std::array<std::vector<Reach>, 2>> lines;
  for (const Piece& p : pieces) {
    Vec2 a = p.a, b = p.b;
    if (b.x < a.x || (b.x == a.x && b.y < a.y)) std::swap(a, b);
    const Vec2 d = (1 / length(b - a)) * (b - a);
    const auto whole = [](double v) { return static_cast<long long>(std::floor(v + 0.5)); };
    const Key key{whole(d.x * 2e4), whole(d.y * 2e4), whole(cross(d, a) * 2e3)};
    lines[key][p.visible ? 0 : 1].push_back({dot(d, a), dot(d, b), a, b});
  }
  std::vector<Piece> out;
  for (auto& [key, sets] : lines) {
    const std::vector<Reach> seen = joined(sets[0]), hidden = without(joined(sets[1]), seen);
    for (const Reach& r : seen) out.push_back({r.a, r.b, true});
    for (const Reach& r : hidden) out.push_back({r.a, r.b, false});
  }
  return out;
}

/// Pieces to runs: through places where just two of them meet without a corner above 45 degrees.
std::vector<ViewLine> chained(const std::vector<Piece>& pieces, bool visible) {
  using Place = std::array<long long, 2>;
  const auto place = [](Vec2 p) {
    return Place{static_cast<long long>(std::floor(p.x * 1e4 + 0.5)),
                 static_cast<long long>(std::floor(p.y * 1e4 + 0.5))};
  };
  std::map<Place, std::vector<std::size_t>> ends;
  std::vector<const Piece*> list;
  for (const Piece& p : pieces)
    if (p.visible == visible) list.push_back(&p);
  for (std::size_t i = 0; i < list.size(); ++i)
    for (const Vec2 p : {list[i]->a, list[i]->b}) ends[place(p)].push_back(i);
  std::vector<bool> used(list.size(), false);
  std::vector<ViewLine> runs;
  const auto follow = [&](std::vector<Vec2>& points) {
    for (;;) {
      const auto& here = ends[place(points.back())];
      if (here.size() != 2) return;
      const std::size_t next = used[here[0]] ? here[1] : here[0];
      if (used[next]) return;
      const Piece& p = *list[next];
      const Vec2 to = place(p.a) == place(points.back()) ? p.b : p.a;
      const Vec2 was = points.back() - points[points.size() - 2], will = to - points.back();
      if (dot(was, will) < 0.7 * length(was) * length(will)) return;
      used[next] = true;
      points.push_back(to);
    }
  };
  for (std::size_t i = 0; i < list.size(); ++i) {
    if (used[i]) continue;
    used[i] = true;
    std::vector<Vec2> points = {list[i]->a, list[i]->b};
    follow(points);
    std::reverse(points.begin(), points.end());
    follow(points);
    ViewLine run{std::move(points), visible, false};
    if (run.points.size() > 3 && place(run.points.front()) == place(run.points.back())) {
      run.points.pop_back();
      run.closed = true;
    }
    runs.push_back(std::move(run));
  }
  return runs;
}

std::vector<ViewLine> runs_of(const Scene& scene) {
  const std::vector<Piece> pieces = merged(sighted(scene));
  std::vector<ViewLine> runs = chained(pieces, true);
  const std::vector<ViewLine> hidden = chained(pieces, false);
  runs.insert(runs.end(), hidden.begin(), hidden.end());
  return runs;
}

struct SolidEdge {
  std::uint32_t a, b;
  std::array<std::size_t, 2> facets;
};

/// Every edge of a closed mesh with its two facets, in the order of its vertices.
std::vector<SolidEdge> edges_of(const Mesh& solid) {
  std::vector<std::tuple<std::uint32_t, std::uint32_t, std::size_t>> halves;
  halves.reserve(solid.triangles.size() * 3);
  for (std::size_t i = 0; i < solid.triangles.size(); ++i)
    for (std::size_t k = 0; k < 3; ++k) {
      const auto [a, b] = std::minmax(solid.triangles[i][k], solid.triangles[i][(k + 1) % 3]);
      halves.emplace_back(a, b, i);
    }
  std::sort(halves.begin(), halves.end());
  std::vector<SolidEdge> edges;
  for (std::size_t i = 0; i + 1 < halves.size(); i += 2) {
    const auto& [a, b, f] = halves[i];
    const auto& [c, d, g] = halves[i + 1];
    if (a == c && b == d) edges.push_back({a, b, {f, g}});
  }
  return edges;
}

std::vector<Vec3> normals_of(const Mesh& solid) {
  std::vector<Vec3> normals;
  normals.reserve(solid.triangles.size());
  for (const auto& t : solid.triangles) {
    const Vec3 a = solid.vertices[t[0]], n = cross(solid.vertices[t[1]] - a, solid.vertices[t[2]] - a);
    const double size = length(n);
    normals.push_back(size > 0 ? (1 / size) * n : Vec3{});
  }
  return normals;
}

bool inside(const Box& box, Vec3 p) {
  return p.x >= box.low.x && p.x <= box.high.x && p.y >= box.low.y && p.y <= box.high.y && p.z >= box.low.z &&
         p.z <= box.high.z;
}

bool is_lettering(const Lettering& lettering, Vec3 a, Vec3 b) {
  return std::any_of(lettering.boxes.begin(), lettering.boxes.end(),
                     [&](const Box& box) { return inside(box, a) && inside(box, b); });
}

// ---- sections ----

/// The part of a polygon where f >= 0; f is linear along its edges.
template <typename F>
std::vector<Vec3> clipped(const std::vector<Vec3>& polygon, F&& f) {
  std::vector<Vec3> out;
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Vec3 p = polygon[i], q = polygon[(i + 1) % polygon.size()];
    const double fp = f(p), fq = f(q);
    if (fp >= 0) out.push_back(p);
    if ((fp >= 0) != (fq >= 0)) out.push_back(p + (fp / (fp - fq)) * (q - p));
  }
  return out;
}

/// The part of a-b behind the step, or nothing.
bool clip_edge(Vec3& a, Vec3& b, const CutStep& step) {
  double from = 0, to = 1;
  const Vec3 d = b - a;
  const std::array<std::array<double, 2>, 3> limits = {
      {{d.x, a.x - step.from_x}, {-d.x, step.to_x - a.x}, {d.y, a.y - step.y}}};
  for (const auto& [slope, at] : limits)
    if (!keep_beyond(slope, at, from, to)) return false;
  if (to - from < 1e-12) return false;
  const Vec3 start = a;
  a = from == 0 ? a : start + from * d;
  b = to == 1 ? b : start + to * d;
  return true;
}

/// Where the plane meets the facets. A vertex on the plane counts as behind it, so that the lines close.
std::vector<Segment> cut_lines(const Mesh& solid, double y) {
  std::vector<Segment> lines;
  for (const auto& t : solid.triangles) {
    std::vector<Vec2> at;
    for (std::size_t k = 0; k < 3; ++k) {
      Vec3 p = solid.vertices[t[k]], q = solid.vertices[t[(k + 1) % 3]];
      if ((p.y >= y) == (q.y >= y)) continue;
      // The same point whichever facet asks.
      if (std::tie(q.y, q.x, q.z) < std::tie(p.y, p.x, p.z)) std::swap(p, q);
      const Vec3 m = p + ((y - p.y) / (q.y - p.y)) * (q - p);
      at.push_back({m.x, m.z});
    }
    if (at.size() == 2 && at[0] != at[1]) lines.push_back({at[0], at[1]});
  }
  return lines;
}

bool clip_to(Segment& s, double from_x, double to_x) {
  if (s[1].x < s[0].x) std::swap(s[0], s[1]);
  if (s[1].x < from_x || s[0].x > to_x) return false;
  const Vec2 a = s[0], d = s[1] - s[0];
  if (s[0].x < from_x) s[0] = a + ((from_x - a.x) / d.x) * d;
  if (s[1].x > to_x) s[1] = a + ((to_x - a.x) / d.x) * d;
  return true;
}

/// Lines at 45 degrees inside the cut face, even-odd.
void hatch_step(const std::vector<Segment>& cut, const CutStep& step, double spacing, std::vector<Segment>& out) {
  // Along a line x - z = c; its points are told by x + z.
  double low = 1e300, high = -1e300;
  for (const Segment& s : cut)
    for (const Vec2 p : s) low = std::min(low, p.x - p.y), high = std::max(high, p.x - p.y);
  const double apart = spacing * std::sqrt(2.0);
  std::vector<double> at;
  for (double k = std::floor(low / apart) + 0.5; k * apart < high; k += 1) {
    const double c = k * apart;
    at.clear();
    for (const Segment& s : cut) {
      const double f = s[0].x - s[0].y - c, g = s[1].x - s[1].y - c;
      if ((f >= 0) == (g >= 0)) continue;
      const Vec2 p = s[0] + (f / (f - g)) * (s[1] - s[0]);
      at.push_back(p.x + p.y);
    }
    std::sort(at.begin(), at.end());
    for (std::size_t i = 0; i + 1 < at.size(); i += 2) {
      Segment line{Vec2{(at[i] + c) / 2, (at[i] - c) / 2}, Vec2{(at[i + 1] + c) / 2, (at[i + 1] - c) / 2}};
      if (clip_to(line, step.from_x, step.to_x) && length(line[1] - line[0]) > spacing * 0.05) out.push_back(line);
    }
  }
}

}  // namespace

std::vector<std::array<Vec3, 2>> sharp_edges(const Mesh& solid) {
  const std::vector<Vec3> normals = normals_of(solid);
  std::vector<std::array<Vec3, 2>> edges;
  for (const SolidEdge& e : edges_of(solid))
    if (dot(normals[e.facets[0]], normals[e.facets[1]]) < sharp_above_cos)
      edges.push_back({solid.vertices[e.a], solid.vertices[e.b]});
  return edges;
}

std::vector<ViewLine> view_lines(const Mesh& solid, const ViewAxes& axes, const Lettering& lettering) {
  Scene scene;
  std::vector<Vec3> points;
  points.reserve(solid.vertices.size());
  for (const Vec3 p : solid.vertices) points.push_back(in_view(axes, p));
  std::vector<bool> faces(solid.triangles.size());
  for (std::size_t i = 0; i < solid.triangles.size(); ++i) {
    const auto& t = solid.triangles[i];
    const Triangle seen{points[t[0]], points[t[1]], points[t[2]]};
    faces[i] = twice_area(seen) > least_facet_mm2;
    if (faces[i]) scene.front.push_back(seen);
  }
  const std::vector<Vec3> normals = normals_of(solid);
  for (const SolidEdge& e : edges_of(solid)) {
    const bool contour = faces[e.facets[0]] != faces[e.facets[1]];
    const bool sharp = dot(normals[e.facets[0]], normals[e.facets[1]]) < sharp_above_cos;
    if (contour) scene.contours.push_back({flat(points[e.a]), flat(points[e.b])});
    if (!contour && !sharp) continue;
    const bool letter = is_lettering(lettering, solid.vertices[e.a], solid.vertices[e.b]);
    if (!letter || lettering.drawn) scene.edges.push_back({points[e.a], points[e.b], letter});
  }
  return runs_of(scene);
}

SectionView section_view(const Mesh& solid, const std::vector<CutStep>& steps, double spacing_mm,
                         const Lettering& lettering) {
  SectionView view;
  Scene scene;
  const std::vector<Vec3> normals = normals_of(solid);
  const std::vector<SolidEdge> edges = edges_of(solid);
  const auto seen = [](Vec3 p) { return in_view(from_front, p); };
  for (const CutStep& step : steps) {
    const std::vector<Segment> cut = cut_lines(solid, step.y);
    hatch_step(cut, step, spacing_mm, view.hatch);
    std::vector<Segment> here;
    for (Segment s : cut)
      if (clip_to(s, step.from_x, step.to_x) && length(s[1] - s[0]) > same_place_mm) here.push_back(s);
    view.cut.insert(view.cut.end(), here.begin(), here.end());
    // Closed at the step's ends by upright lines, for the even-odd rule: rays run in x, so those of no height suffice.
    for (std::size_t i = 0; i < cut.size(); ++i) {
      Segment s = cut[i];
      for (Vec2& p : s) p.x = std::clamp(p.x, step.from_x, step.to_x);
      scene.cap.push_back(s);
    }
    scene.contours.insert(scene.contours.end(), here.begin(), here.end());
    for (const auto& t : solid.triangles) {
      std::vector<Vec3> polygon = {solid.vertices[t[0]], solid.vertices[t[1]], solid.vertices[t[2]]};
      polygon = clipped(polygon, [&](Vec3 p) { return p.y - step.y; });
      polygon = clipped(polygon, [&](Vec3 p) { return p.x - step.from_x; });
      polygon = clipped(polygon, [&](Vec3 p) { return step.to_x - p.x; });
      for (std::size_t k = 1; k + 1 < polygon.size(); ++k) {
        const Triangle facet{seen(polygon[0]), seen(polygon[k]), seen(polygon[k + 1])};
        if (twice_area(facet) > least_facet_mm2) scene.front.push_back(facet);
      }
    }
    for (const SolidEdge& e : edges) {
      Vec3 a = solid.vertices[e.a], b = solid.vertices[e.b];
      if (!clip_edge(a, b, step)) continue;
      const bool contour = (normals[e.facets[0]].y < -1e-9) != (normals[e.facets[1]].y < -1e-9);
      const bool sharp = dot(normals[e.facets[0]], normals[e.facets[1]]) < sharp_above_cos;
      const Vec3 p = seen(a), q = seen(b);
      if (contour) scene.contours.push_back({flat(p), flat(q)});
      if ((contour || sharp) && !is_lettering(lettering, solid.vertices[e.a], solid.vertices[e.b]))
        scene.edges.push_back({p, q, true});
    }
  }
  std::vector<ViewLine> runs = runs_of(scene);
  for (ViewLine& run : runs)
    if (run.visible) view.beyond.push_back(std::move(run));
  return view;
}

}  // namespace bedwright
