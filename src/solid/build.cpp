#include "solid/build.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <tuple>

#include "base/error.h"
#include "base/lattice.h"
#include "solid/bevel.h"
#include "solid/cap.h"
#include "solid/column.h"
#include "solid/crossing.h"
#include "solid/levels.h"
#include "solid/plan.h"
#include "solid/topology.h"

namespace bedwright {
namespace {

constexpr int no_profile = -1;
constexpr double unset = std::numeric_limits<double>::quiet_NaN();
constexpr double inner_line_mm = 1e-3;  // a vertex this near to a chamfer's inner line lies on it: some lattice steps

/// A level as seen from one edge: a flat height, the seat, or a chamfer off one of them.
struct EdgeLevel {
  bool seat = false;
  double z = 0;      ///< flat: its height; eased: the least that it may be
  int eased = none;  ///< the chamfer's feature
  static constexpr int none = -1;
  /// Over one edge, from low to high: flats, what is eased off the seat, the seat.
  std::tuple<bool, bool, double> key() const { return {seat, seat && eased == none, seat ? 0.0 : z}; }
  bool operator<(const EdgeLevel& o) const { return key() < o.key(); }
  bool operator==(const EdgeLevel& o) const { return key() == o.key() && eased == o.eased; }
};

struct Span {
  EdgeLevel low, high;
  bool left = false;  ///< material on the left
};

constexpr std::uint32_t nothing = std::numeric_limits<std::uint32_t>::max();

/// Vertices made one after the other.
struct Extra {
  std::uint32_t first = 0, count = 0;
};

class Builder {
 public:
  Builder(const Part& part, Lattice lattice, bool one_piece) : part_(part), lattice_(lattice), one_piece_(one_piece) {}

  Mesh run() {
    collect();
    plan_ = divide(profiles_, part_.features, part_.chord_mm, lattice_);
    refuse_crossed_bevel();
    seat_z_.assign(plan_.vertices.size(), unset);
    make_columns();
    radius_limit_ = part_.seat.shape == SurfaceShape::plane
                        ? 0
                        : enclosing_radius_limit(curvature_bound(part_.seat, reach_of_seat()), part_.chord_mm);
    make_spans();
    subdivide_seat_borders();
    standing_at_.assign(plan_.vertices.size(), nothing);
    for (std::size_t e = 0; e < plan_.edges.size(); ++e) note_branch_levels(e);
    make_caps();
    for (std::size_t e = 0; e < plan_.edges.size(); ++e) make_walls(e);
    check();
    return std::move(mesh_);
  }

 private:
  void collect() {
    for (std::size_t f = 0; f < part_.features.size(); ++f) {
      const Feature& feature = part_.features[f];
      if (feature.effect == Effect::none) continue;
      for (const Loop& loop : feature.profile) profiles_.push_back({static_cast<int>(f), loop});
      if (feature.chamfer_mm > 0 && bevel_outline_ == no_profile) {
        bevel_outline_ = static_cast<int>(profiles_.size()) - 1;
        bevel_inner_ = static_cast<int>(profiles_.size());
        profiles_.push_back({static_cast<int>(f), moved_inward(feature.profile[0], feature.chamfer_mm)});
      }
    }
    if (profiles_.empty()) throw CannotBuild("nothing-to-build", part_.id + " has no features", "give it an outline");
  }

  /// A chamfer's line may run through the bevel, from its outline to its inner loop; nothing else may.
  void refuse_crossed_bevel() const {
    if (bevel_inner_ == no_profile) return;
    const auto is_bevel = [&](int p) { return p == bevel_inner_ || p == bevel_outline_; };
    const auto may_cross = [&](int p) {
      return is_bevel(p) || part_.features[static_cast<std::size_t>(profiles_[p].feature)].kind == FeatureKind::chamfer;
    };
    for (const Plan::Edge& e : plan_.edges) {
      if (std::none_of(e.profiles.begin(), e.profiles.end(), is_bevel)) continue;
      const std::vector<int> met = near(e);
      if (e.profiles.size() > 1 || !std::all_of(met.begin(), met.end(), may_cross)) throw crossing_bevel(met);
    }
  }

  /// Profiles of the edge and of those that meet it at its ends.
  std::vector<int> near(const Plan::Edge& e) const {
    std::vector<int> r = e.profiles;
    for (std::uint32_t v : {e.vertices.front(), e.vertices.back()})
      r.insert(r.end(), plan_.touching[v].begin(), plan_.touching[v].end());
    return r;
  }

  template <typename Profiles>
  CannotBuild crossing_bevel(const Profiles& profiles) const {
    std::vector<std::string> ids = names_of(profiles);
    return CannotBuild("chamfer-crossed",
                       "the chamfer along the lower edge of " + part_.id + " is cut by another feature near it",
                       "give that feature more margin, or set bottom_chamfer_mm to 0", ids);
  }

  template <typename Profiles>
  std::vector<std::string> names_of(const Profiles& profiles) const {
    std::vector<std::string> ids;
    for (int p : profiles) {
      const std::string& id = part_.features[profiles_[p].feature].id;
      if (std::find(ids.begin(), ids.end(), id) == ids.end()) ids.push_back(id);
    }
    return ids;
  }

  void make_columns() {
    for (const std::vector<int>& covered : plan_.covered) {
      std::map<int, bool> odd;
      bool in_outline = false, in_inner = false;
      for (int p : covered) {
        if (p == bevel_inner_) {
          in_inner = true;
          continue;
        }
        if (p == bevel_outline_) in_outline = true;
        odd[profiles_[p].feature] ^= true;
      }
      std::vector<int> features;
      for (const auto& entry : odd)
        if (entry.second) features.push_back(entry.first);
      const bool bevelled = bevel_inner_ != no_profile && in_outline && !in_inner;
      columns_.push_back(column_of(part_.features, features, bevelled, lattice_));
    }
  }

  double reach_of_seat() const {
    double reach = 0;
    for (Vec2 v : plan_.vertices) reach = std::max(reach, length(v - part_.seat.apex));
    return reach;
  }

  double seat_z(std::uint32_t v) {
    if (std::isnan(seat_z_[v])) seat_z_[v] = snap(height_at(part_.seat, plan_.vertices[v]), lattice_);
    return seat_z_[v];
  }

  bool touches(std::uint32_t v, int profile) const {
    const auto& t = plan_.touching[v];
    return std::find(t.begin(), t.end(), profile) != t.end();
  }

  double z_at(const Level& level, std::uint32_t v) {
    switch (level.kind) {
      case Level::Kind::flat: return level.z;
      case Level::Kind::seat: return seat_z(v);
      case Level::Kind::eased:
        return eased_z(level.feature, level.off_seat ? seat_z(v) : level.z, v);
      default:
        if (touches(v, bevel_outline_)) return level.z + level.bevel;
        if (touches(v, bevel_inner_)) return level.z;
        throw crossing_bevel(plan_.touching[v]);
    }
  }

  /// How far the chamfer lies below the level that it is cut off, at a place; nothing on its inner line.
  double eased_by(int feature, std::uint32_t v) const {
    const Feature& f = part_.features[static_cast<std::size_t>(feature)];
    const Vec2 out = (1 / std::sqrt(f.axis.x * f.axis.x + f.axis.y * f.axis.y)) * Vec2{f.axis.x, f.axis.y};
    const double in = dot(Vec2{f.at.x, f.at.y} - plan_.vertices[v], out);
    return in > f.chamfer_mm - inner_line_mm ? 0 : f.chamfer_mm - in;
  }

  double eased_z(int feature, double z, std::uint32_t v) const { return snap(z - eased_by(feature, v), lattice_); }

  EdgeLevel on_edge(const Level& level, const Plan::Edge& edge) {
    if (level.kind == Level::Kind::seat) return {true, 0};
    if (level.kind != Level::Kind::eased) return {false, z_at(level, edge.vertices[0])};
    const bool inner = std::all_of(edge.vertices.begin(), edge.vertices.end(),
                                   [&](std::uint32_t v) { return eased_by(level.feature, v) == 0; });
    if (inner) return {level.off_seat, level.z};
    const double width = part_.features[static_cast<std::size_t>(level.feature)].chamfer_mm;
    return {level.off_seat, level.z - width, level.feature};
  }

  double z_at(const EdgeLevel& level, std::uint32_t v) {
    if (level.eased == EdgeLevel::none) return level.seat ? seat_z(v) : level.z;
    const double width = part_.features[static_cast<std::size_t>(level.eased)].chamfer_mm;
    return eased_z(level.eased, level.seat ? seat_z(v) : level.z + width, v);
  }

  /// Whether the edge parts a chamfer off the seat from the seat, or from another: all follow the curve there.
  bool bounds_seat(const Plan::Edge& edge) const {
    const auto any = [&](int face, auto is) {
      const Column& c = columns_[static_cast<std::size_t>(face)];
      return std::any_of(c.begin(), c.end(), [&](const Stretch& s) { return is(s.high); });
    };
    const auto eased = [](const Level& l) { return l.off_seat; };
    const auto follows = [](const Level& l) { return l.off_seat || l.kind == Level::Kind::seat; };
    return (any(edge.left, eased) && any(edge.right, follows)) || (any(edge.left, follows) && any(edge.right, eased));
  }

  /// Where exactly one side of the edge is solid, from bottom to top.
  std::vector<Span> spans_of(const Plan::Edge& edge) {
    std::vector<EdgeLevel> levels;
    std::vector<std::pair<EdgeLevel, EdgeLevel>> sides[2];
    for (int s = 0; s < 2; ++s)
      for (const Stretch& x : columns_[s == 0 ? edge.left : edge.right]) {
        const EdgeLevel a = on_edge(x.low, edge), b = on_edge(x.high, edge);
        sides[s].push_back({a, b});
        levels.push_back(a);
        levels.push_back(b);
      }
    std::sort(levels.begin(), levels.end());
    levels.erase(std::unique(levels.begin(), levels.end()), levels.end());
    const auto solid = [](const std::vector<std::pair<EdgeLevel, EdgeLevel>>& side, const EdgeLevel& low) {
      return std::any_of(side.begin(), side.end(), [&](const auto& r) { return !(low < r.first) && low < r.second; });
    };
    std::vector<Span> spans;
    for (std::size_t i = 0; i + 1 < levels.size(); ++i) {
      const bool left = solid(sides[0], levels[i]), right = solid(sides[1], levels[i]);
      if (left == right) continue;
      if (!spans.empty() && spans.back().left == left && spans.back().high == levels[i])
        spans.back().high = levels[i + 1];
      else
        spans.push_back({levels[i], levels[i + 1], left});
    }
    return spans;
  }

  void make_spans() {
    for (const Plan::Edge& e : plan_.edges) {
      spans_.push_back(spans_of(e));
      for (const Span& s : spans_.back())
        if (s.high.seat)
          for (std::uint32_t v : e.vertices)
            if (z_at(s.high, v) < s.low.z + least_height_mm) throw seat_too_low(e.profiles);
    }
  }

  CannotBuild seat_too_low(const std::vector<int>& profiles) const {
    return CannotBuild("floor-through-seat", "a flat level comes through the curved seat of " + part_.id,
                       "make the part thicker or that feature deeper below the seat", names_of(profiles));
  }

  /// Extra vertices on the seat's side of long edges, so that the border follows the curve.
  void subdivide_seat_borders() {
    extra_.resize(plan_.edges.size());
    if (radius_limit_ <= 0) return;
    const double limit = border_edge_limit(radius_limit_);
    for (std::size_t e = 0; e < plan_.edges.size(); ++e) {
      const Plan::Edge& edge = plan_.edges[e];
      const bool borders = std::any_of(spans_[e].begin(), spans_[e].end(), [](const Span& s) { return s.high.seat; });
      if (!borders && !bounds_seat(edge)) continue;
      const std::size_t n = edge.vertices.size(), count = edge.closed ? n : n - 1;
      extra_[e].resize(count);
      for (std::size_t i = 0; i < count; ++i) {
        const Vec2 a = plan_.vertices[edge.vertices[i]], b = plan_.vertices[edge.vertices[(i + 1) % n]];
        const int parts = static_cast<int>(std::ceil(length(b - a) / limit));
        extra_[e][i] = {static_cast<std::uint32_t>(plan_.vertices.size()), static_cast<std::uint32_t>(std::max(parts - 1, 0))};
        for (int k = 1; k < parts; ++k) {
          plan_.vertices.push_back(snap(a + (static_cast<double>(k) / parts) * (b - a), lattice_));
          plan_.touching.emplace_back(edge.profiles.begin(), edge.profiles.end());
          seat_z_.push_back(unset);
        }
      }
    }
  }

  std::uint32_t vertex(std::uint32_t v, double z) {
    for (std::uint32_t id = standing_at_[v]; id != nothing; id = below_[id])
      if (mesh_.vertices[id].z == z) return id;
    const auto id = static_cast<std::uint32_t>(mesh_.vertices.size());
    below_.push_back(standing_at_[v]);
    standing_at_[v] = id;
    mesh_.vertices.push_back({plan_.vertices[v].x, plan_.vertices[v].y, z});
    source_.push_back(v);
    return id;
  }

  /// Walls that meet at a branching vertex must all know the heights that any of them has there.
  void note_branch_levels(std::size_t e) {
    const Plan::Edge& edge = plan_.edges[e];
    if (edge.closed) return;
    for (std::uint32_t v : {edge.vertices.front(), edge.vertices.back()})
      for (const Span& s : spans_[e])
        for (const EdgeLevel& l : {s.low, s.high}) {
          vertex(v, z_at(l, v));
          branch_[v] = true;
        }
  }

  void make_caps() {
    // Faces that end at the same level, from below or from above, form the caps of that level.
    std::map<std::tuple<int, double, bool>, std::vector<std::pair<int, Level>>> sets;
    for (std::size_t f = 0; f < columns_.size(); ++f)
      for (const Stretch& s : columns_[f]) {
        const auto key = [](const Level& l, bool up) {
          const double of = l.kind == Level::Kind::eased ? l.feature : l.kind == Level::Kind::seat ? 0.0 : l.z;
          return std::make_tuple(static_cast<int>(l.kind), of, up);
        };
        sets[key(s.low, false)].push_back({static_cast<int>(f), s.low});
        sets[key(s.high, true)].push_back({static_cast<int>(f), s.high});
      }
    for (const auto& entry : sets) make_caps_of(entry.second, std::get<2>(entry.first));
  }

  void make_caps_of(const std::vector<std::pair<int, Level>>& faces, bool up) {
    std::vector<int> root(columns_.size(), -1);
    for (const auto& f : faces) root[f.first] = f.first;
    const auto find = [&](int i) {
      while (root[i] != i) i = root[i] = root[root[i]];
      return i;
    };
    for (const Plan::Edge& e : plan_.edges)
      if (root[e.left] >= 0 && root[e.right] >= 0) {
        const int a = find(e.left), b = find(e.right);
        root[std::max(a, b)] = std::min(a, b);
      }
    std::map<int, CapBoundary> regions;
    const Level& level = faces.front().second;
    for (std::size_t e = 0; e < plan_.edges.size(); ++e) {
      const Plan::Edge& edge = plan_.edges[e];
      if ((root[edge.left] >= 0) == (root[edge.right] >= 0)) continue;
      const int region = find(root[edge.left] >= 0 ? edge.left : edge.right);
      std::vector<std::uint32_t> run;
      const std::size_t n = edge.vertices.size(), count = edge.closed ? n : n - 1;
      run.reserve(n);
      for (std::size_t i = 0; i < count; ++i) {
        run.push_back(edge.vertices[i]);
        if ((level.kind == Level::Kind::seat || level.off_seat) && !extra_[e].empty())
          for (std::uint32_t k = 0; k < extra_[e][i].count; ++k) run.push_back(extra_[e][i].first + k);
      }
      if (!edge.closed) run.push_back(edge.vertices.back());
      (edge.closed ? regions[region].rings : regions[region].runs).push_back(std::move(run));
    }
    for (const auto& region : regions) emit_cap(region.second, level, up);
  }

  void emit_cap(const CapBoundary& boundary, const Level& level, bool up) {
    const bool seat = level.kind == Level::Kind::seat;
    CapTriangles cap;
    try {
      cap = triangulate_cap(plan_.vertices, boundary, seat ? radius_limit_ : 0, lattice_.step_mm);
    } catch (const CannotBuild& problem) {
      std::vector<int> close_by;
      for (const auto* set : {&boundary.rings, &boundary.runs})
        for (const auto& run : *set) {
          const auto& t = plan_.touching[run[0]];
          close_by.insert(close_by.end(), t.begin(), t.end());
        }
      throw CannotBuild(problem.code, part_.id + ": " + problem.what(), problem.remedy, names_of(close_by));
    }
    for (Vec2 p : cap.added) {
      plan_.vertices.push_back(p);
      plan_.touching.emplace_back();
      seat_z_.push_back(unset);
      standing_at_.push_back(nothing);
    }
    for (const auto& t : cap.triangles) {
      const std::uint32_t a = vertex(t[0], z_at(level, t[0])), b = vertex(t[1], z_at(level, t[1])),
                          c = vertex(t[2], z_at(level, t[2]));
      if (up)
        mesh_.triangles.push_back({a, b, c});
      else
        mesh_.triangles.push_back({a, c, b});
    }
    if (mesh_.triangles.size() > largest_part_triangles)
      throw CannotBuild("too-many-facets", part_.id + " would need more than 2 million facets",
                        "raise tolerance.chord_mm");
  }

  /// Mesh vertices standing at plan vertex v from low to high, ends included.
  void pillar(std::uint32_t v, const Span& span, std::vector<std::uint32_t>& r) {
    const double low = z_at(span.low, v), high = z_at(span.high, v);
    r.assign({vertex(v, low), vertex(v, high)});
    if (!branch_.count(v)) return;
    for (std::uint32_t id = standing_at_[v]; id != nothing; id = below_[id])
      if (mesh_.vertices[id].z > low && mesh_.vertices[id].z < high) r.push_back(id);
    std::sort(r.begin(), r.end(), [&](auto a, auto b) { return mesh_.vertices[a].z < mesh_.vertices[b].z; });
  }

  void facet(std::uint32_t a, std::uint32_t b, std::uint32_t c, bool keep) {
    if (keep)
      mesh_.triangles.push_back({a, b, c});
    else
      mesh_.triangles.push_back({a, c, b});
  }

  void make_walls(std::size_t e) {
    const Plan::Edge& edge = plan_.edges[e];
    const std::size_t n = edge.vertices.size(), count = edge.closed ? n : n - 1;
    std::vector<std::uint32_t> left, right, top;
    for (const Span& span : spans_[e])
      for (std::size_t i = 0; i < count; ++i) {
        if (i == 0)
          pillar(edge.vertices[0], span, left);
        else
          left.swap(right);
        pillar(edge.vertices[i + 1 < n ? i + 1 : 0], span, right);
        top.assign(1, left.back());
        if (span.high.seat && !extra_[e].empty())
          for (std::uint32_t k = 0; k < extra_[e][i].count; ++k) {
            const std::uint32_t v = extra_[e][i].first + k;
            top.push_back(vertex(v, z_at(span.high, v)));
          }
        top.push_back(right.back());
        emit_wall(left, right, top, span.left);
      }
  }

  /// One upright rectangle: two pillars, and a top that may have more vertices. Seen with material behind it the
  /// first pillar stands on the left if `keep`.
  void emit_wall(const std::vector<std::uint32_t>& left, const std::vector<std::uint32_t>& right,
                 const std::vector<std::uint32_t>& top, bool keep) {
    const auto z = [&](std::uint32_t v) { return mesh_.vertices[v].z; };
    std::size_t i = 0, j = 0;
    // Zip the pillars up to their last vertices but one.
    while (i + 2 < left.size() || j + 2 < right.size()) {
      const bool advance_left =
          j + 2 >= right.size() || (i + 2 < left.size() && z(left[i + 1]) <= z(right[j + 1]));
      if (advance_left) {
        facet(left[i], right[j], left[i + 1], keep);
        ++i;
      } else {
        facet(left[i], right[j], right[j + 1], keep);
        ++j;
      }
    }
    // Then fan from the two to the top: each foot takes the half nearer to it.
    const std::size_t half = (top.size() - 1) / 2;
    for (std::size_t k = 0; k < half; ++k) facet(left[i], top[k + 1], top[k], keep);
    facet(left[i], right[j], top[half], keep);
    for (std::size_t k = half; k + 1 < top.size(); ++k) facet(right[j], top[k + 1], top[k], keep);
  }

  void check() const {
    const double gate = std::min(part_.chord_mm, least_height_mm);
    const std::optional<Defect> defect = find_defect(mesh_, gate);
    if (!defect || (defect->code == "pieces" && !one_piece_)) return;
    std::vector<int> close_by;
    for (std::uint32_t v : defect->vertices) {
      const auto& t = plan_.touching[source_[v]];
      close_by.insert(close_by.end(), t.begin(), t.end());
    }
    const std::vector<std::string> ids = names_of(close_by);
    std::string text;
    for (const std::string& id : ids) text += (text.empty() ? "" : ", ") + id;
    if (defect->code == "pieces")
      throw CannotBuild("falls-apart", part_.id + " falls into " + std::to_string(static_cast<int>(defect->value)) +
                            " pieces near " + text,
                        "leave material between these features, or move them inward", ids);
    throw CannotBuild("features-nearly-touch",
                      part_.id + ": " + text + " meet without a clear overlap or gap (" + defect->code + ")",
                      "move them apart, or let them overlap, by at least 0.1 mm", ids);
  }

  const Part& part_;
  Lattice lattice_;
  bool one_piece_;
  std::vector<Profile> profiles_;
  int bevel_outline_ = no_profile, bevel_inner_ = no_profile;
  Plan plan_;
  std::vector<Column> columns_;
  std::vector<std::vector<Span>> spans_;                          ///< by edge
  std::vector<std::vector<Extra>> extra_;                         ///< by edge, by segment: vertices on the seat's side
  std::vector<double> seat_z_;                                    ///< by plan vertex
  std::vector<std::uint32_t> standing_at_;                        ///< by plan vertex: the mesh vertex made there last
  std::vector<std::uint32_t> below_;                              ///< by mesh vertex: the one made there before it
  std::map<std::uint32_t, bool> branch_;
  std::vector<std::uint32_t> source_;                             ///< by mesh vertex: plan vertex
  double radius_limit_ = 0;
  Mesh mesh_;
};

}  // namespace

Lattice lattice_of(const Part& part) {
  double extent = 0;
  for (const Feature& feature : part.features) {
    if (feature.effect == Effect::none || crosses(feature)) continue;
    for (const Loop& loop : feature.profile) {
      const PlaneBox b = bounding_box(loop);
      extent = std::max({extent, -b.low.x, -b.low.y, b.high.x, b.high.y});
    }
    for (const Bound& b : {feature.from, feature.to})
      if (b.kind == Bound::Kind::flat) extent = std::max(extent, std::fabs(b.z_mm));
  }
  // Bosses and seats rise above the outline's own extent by far less than this.
  if (extent > largest_coordinate_mm / 2)
    throw CannotBuild("part-too-large", part.id + " is larger than 1 m", "check the sizes: lengths are millimetres");
  return lattice_for(extent + 20);
}

Mesh levels_solid(const Part& part, Lattice lattice, bool one_piece) { return Builder(part, lattice, one_piece).run(); }

Mesh build_solid(const Part& part) {
  const Lattice lattice = lattice_of(part);
  if (std::none_of(part.features.begin(), part.features.end(), crosses)) return levels_solid(part, lattice, true);
  Part upright = part;
  upright.features.erase(std::remove_if(upright.features.begin(), upright.features.end(), crosses),
                         upright.features.end());
  return without_crossing(part, levels_solid(upright, lattice, true), lattice);
}

}  // namespace bedwright
