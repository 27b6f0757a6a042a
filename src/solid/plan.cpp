#include "solid/plan.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <utility>

#include "base/error.h"

namespace bedwright {
namespace {

/// Profiles nearer than this (in chord_mm) are left to the exact arrangement: facets on both may stray by one chord.
constexpr double clear_in_chords = 3.0;

struct Outline {
  PlaneBox box;
  Vec2 middle;
  double reach = 0;  ///< largest distance of the curve from `middle`
};

Outline outline_of(const Loop& loop) {
  Outline o;
  o.box = bounding_box(loop);
  if (loop.circle) {
    o.middle = loop.centre;
    o.reach = loop.radius;
  } else {
    o.middle = 0.5 * (o.box.low + o.box.high);
    for (const Curve& c : loop.curves) {
      o.reach = std::max(o.reach, length(c.start - o.middle));
      if (c.arc) o.reach = std::max(o.reach, length(c.centre - o.middle) + c.radius);
    }
    o.reach = std::min(o.reach, length(o.box.high - o.middle));
  }
  return o;
}

double segment_gap(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  const auto side = [](Vec2 p, Vec2 q, Vec2 r) { return cross(q - p, r - p); };
  if (side(a, b, c) * side(a, b, d) <= 0 && side(c, d, a) * side(c, d, b) <= 0) {
    const bool apart = std::max(a.x, b.x) < std::min(c.x, d.x) || std::max(c.x, d.x) < std::min(a.x, b.x) ||
                       std::max(a.y, b.y) < std::min(c.y, d.y) || std::max(c.y, d.y) < std::min(a.y, b.y);
    if (!apart) return 0;
  }
  const auto reach = [](Vec2 p, Vec2 q, Vec2 r) {
    const Vec2 e = q - p;
    const double l2 = dot(e, e);
    const double t = l2 > 0 ? std::clamp(dot(r - p, e) / l2, 0.0, 1.0) : 0.0;
    return length(r - (p + t * e));
  };
  return std::min(std::min(reach(a, b, c), reach(a, b, d)), std::min(reach(c, d, a), reach(c, d, b)));
}

bool boxes_apart(const PlaneBox& a, const PlaneBox& b, double gap) {
  return a.high.x + gap < b.low.x || b.high.x + gap < a.low.x || a.high.y + gap < b.low.y || b.high.y + gap < a.low.y;
}

/// Whether two curves certainly keep `gap` between them (side by side or one inside the other).
bool keep_clear(const Loop& a, const Outline& oa, const std::vector<Vec2>& pa, const Loop& b, const Outline& ob,
                const std::vector<Vec2>& pb, double gap) {
  if (boxes_apart(oa.box, ob.box, gap)) return true;
  if (a.circle && b.circle) {
    const double d = length(a.centre - b.centre);
    return d > a.radius + b.radius + gap || d + std::min(a.radius, b.radius) + gap < std::max(a.radius, b.radius);
  }
  if (!b.circle && distance(b, oa.middle) > oa.reach + gap) return true;
  if (!a.circle && distance(a, ob.middle) > ob.reach + gap) return true;
  for (std::size_t i = 0; i < pa.size(); ++i) {
    const Vec2 s = pa[i], t = pa[(i + 1) % pa.size()];
    const PlaneBox edge{{std::min(s.x, t.x), std::min(s.y, t.y)}, {std::max(s.x, t.x), std::max(s.y, t.y)}};
    if (boxes_apart(edge, ob.box, gap)) continue;
    for (std::size_t j = 0; j < pb.size(); ++j)
      if (segment_gap(s, t, pb[j], pb[(j + 1) % pb.size()]) <= gap) return false;
  }
  return true;
}

/// Whether p is inside local face `face`: an odd number of its boundary chains' crossings.
bool inside_face(const Component& c, int face, Vec2 p) {
  bool inside = false;
  for (const Chain& chain : c.chains) {
    if ((chain.left == face) == (chain.right == face)) continue;
    const std::size_t n = chain.points.size(), last = chain.closed ? n : n - 1;
    for (std::size_t i = 0; i < last; ++i) {
      const Vec2 a = chain.points[i], b = chain.points[(i + 1) % n];
      if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)) inside = !inside;
    }
  }
  return inside;
}

std::vector<int> exclusive_or(const std::vector<int>& a, const std::vector<int>& b) {
  std::vector<int> r;
  std::set_symmetric_difference(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(r));
  return r;
}

struct Placed {
  Component part;
  PlaneBox box{};
  double size = 0;       ///< box area: a component inside another's face is always the smaller
  Vec2 sample{};
  int first_face = 0;    ///< global id of local face 1
  int parent = 0;        ///< global face round it
};

PlaneBox box_of(const Component& c) {
  PlaneBox b{c.chains[0].points[0], c.chains[0].points[0]};
  for (const Chain& chain : c.chains)
    for (Vec2 p : chain.points) {
      b.low = {std::min(b.low.x, p.x), std::min(b.low.y, p.y)};
      b.high = {std::max(b.high.x, p.x), std::max(b.high.y, p.y)};
    }
  return b;
}

std::string names_of(const std::vector<int>& members, const std::vector<Profile>& profiles,
                     const std::vector<Feature>& features, std::vector<std::string>& ids) {
  for (int m : members) {
    const std::string& id = features[profiles[m].feature].id;
    if (std::find(ids.begin(), ids.end(), id) == ids.end()) ids.push_back(id);
  }
  std::string text;
  for (const std::string& id : ids) text += (text.empty() ? "" : ", ") + id;
  return text;
}

/// Whether two segments with a common end run so close that the shorter one's far end touches the other.
bool leave_together(Vec2 a, Vec2 b, Vec2 c, Vec2 d, double gap) {
  if (b == c || b == d) std::swap(a, b);
  if (a == d) std::swap(c, d);
  const Vec2 u = b - a, v = d - c;
  const Vec2 shorter = dot(u, u) < dot(v, v) ? u : v, longer = dot(u, u) < dot(v, v) ? v : u;
  return dot(shorter, longer) > 0 && std::fabs(cross(longer, shorter)) < gap * length(longer);
}

/// Faceting moved true curves by up to a chord: make sure that no two chains of a cluster cross because of it.
void refuse_crossings(const std::vector<Component>& parts, const std::vector<Profile>& profiles,
                      const std::vector<Feature>& features, double least_gap) {
  struct Segment {
    Vec2 a, b;
    const Chain* chain;
  };
  std::vector<Segment> all;
  for (const Component& c : parts)
    for (const Chain& chain : c.chains) {
      const std::size_t n = chain.points.size(), last = chain.closed ? n : n - 1;
      for (std::size_t i = 0; i < last; ++i) all.push_back({chain.points[i], chain.points[(i + 1) % n], &chain});
    }
  for (std::size_t i = 0; i < all.size(); ++i)
    for (std::size_t j = i + 1; j < all.size(); ++j) {
      const Segment &s = all[i], &t = all[j];
      const bool joined = s.a == t.a || s.a == t.b || s.b == t.a || s.b == t.b;
      if (joined && (s.chain == t.chain || !leave_together(s.a, s.b, t.a, t.b, least_gap))) continue;
      const PlaneBox bs{{std::min(s.a.x, s.b.x), std::min(s.a.y, s.b.y)}, {std::max(s.a.x, s.b.x), std::max(s.a.y, s.b.y)}};
      const PlaneBox bt{{std::min(t.a.x, t.b.x), std::min(t.a.y, t.b.y)}, {std::max(t.a.x, t.b.x), std::max(t.a.y, t.b.y)}};
      if (boxes_apart(bs, bt, least_gap)) continue;
      if (!joined && segment_gap(s.a, s.b, t.a, t.b) >= least_gap) continue;
      std::vector<int> members = s.chain->profiles;
      members.insert(members.end(), t.chain->profiles.begin(), t.chain->profiles.end());
      std::vector<std::string> ids;
      const std::string names = names_of(members, profiles, features, ids);
      throw CannotBuild("features-nearly-touch",
                        names + ": edges come within " + std::to_string(least_gap).substr(0, 5) +
                            " mm of each other without a clear overlap or gap",
                        "move them apart, or let them overlap, by at least 0.1 mm", ids);
    }
}

Component single(const std::vector<Vec2>& polygon, int profile) {
  Component c;
  Chain chain;
  chain.points = polygon;
  chain.closed = true;
  chain.left = 1;
  chain.right = 0;
  chain.profiles = {profile};
  c.chains.push_back(std::move(chain));
  c.covered = {{}, {profile}};
  return c;
}

std::vector<Vec2> snapped_polygon(const Loop& loop, double chord_mm, Lattice lattice) {
  std::vector<Vec2> p = polygonised(loop, chord_mm);
  for (Vec2& v : p) v = snap(v, lattice);
  p.erase(std::unique(p.begin(), p.end()), p.end());
  while (p.size() > 1 && p.front() == p.back()) p.pop_back();
  return p;
}

/// Groups of profiles that touch each other, each ascending, in order of their first member.
std::vector<std::vector<int>> clusters_of(const std::vector<Profile>& profiles,
                                          const std::vector<std::vector<Vec2>>& polygons, double gap) {
  std::vector<Outline> outlines;
  for (const Profile& p : profiles) outlines.push_back(outline_of(p.loop));
  std::vector<int> root(profiles.size());
  std::iota(root.begin(), root.end(), 0);
  const auto find = [&](int i) {
    while (root[i] != i) i = root[i] = root[root[i]];
    return i;
  };
  for (std::size_t i = 0; i < profiles.size(); ++i)
    for (std::size_t j = i + 1; j < profiles.size(); ++j)
      if (!keep_clear(profiles[i].loop, outlines[i], polygons[i], profiles[j].loop, outlines[j], polygons[j], gap)) {
        const int a = find(static_cast<int>(i)), b = find(static_cast<int>(j));
        root[std::max(a, b)] = std::min(a, b);
      }
  std::vector<std::vector<int>> clusters(profiles.size());
  for (std::size_t i = 0; i < profiles.size(); ++i) clusters[find(static_cast<int>(i))].push_back(static_cast<int>(i));
  clusters.erase(std::remove_if(clusters.begin(), clusters.end(), [](const auto& c) { return c.empty(); }),
                 clusters.end());
  return clusters;
}

/// Gives every component its surrounding face, and every face its global id and full cover.
std::vector<std::vector<int>> nest(std::vector<Placed>& placed) {
  int next = 1;
  for (Placed& p : placed) {
    p.box = box_of(p.part);
    p.size = (p.box.high.x - p.box.low.x) * (p.box.high.y - p.box.low.y);
    p.sample = p.part.chains[0].points[0];
    p.first_face = next;
    next += static_cast<int>(p.part.covered.size()) - 1;
  }
  std::vector<std::size_t> by_size(placed.size());
  std::iota(by_size.begin(), by_size.end(), 0);
  std::stable_sort(by_size.begin(), by_size.end(), [&](auto a, auto b) { return placed[a].size > placed[b].size; });

  std::vector<std::vector<int>> covered(next);
  for (std::size_t k = 0; k < by_size.size(); ++k) {
    Placed& child = placed[by_size[k]];
    // The smallest component met so far that holds the sample in one of its faces is the parent.
    for (std::size_t m = k; m-- > 0 && child.parent == 0;) {
      const Placed& other = placed[by_size[m]];
      const Vec2 s = child.sample;
      if (s.x < other.box.low.x || s.x > other.box.high.x || s.y < other.box.low.y || s.y > other.box.high.y) continue;
      if (other.part.chains.size() == 1) {
        if (inside_polygon(other.part.chains[0].points, s)) child.parent = other.first_face;
        continue;
      }
      for (int f = 1; f < static_cast<int>(other.part.covered.size()); ++f)
        if (inside_face(other.part, f, s)) child.parent = other.first_face + f - 1;
    }
    for (std::size_t f = 1; f < child.part.covered.size(); ++f)
      covered[child.first_face + f - 1] = exclusive_or(covered[child.parent], child.part.covered[f]);
  }
  return covered;
}

}  // namespace

bool inside_polygon(const std::vector<Vec2>& polygon, Vec2 p) {
  bool inside = false;
  for (std::size_t i = 0, j = polygon.size() - 1; i < polygon.size(); j = i++) {
    const Vec2 a = polygon[i], b = polygon[j];
    if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)) inside = !inside;
  }
  return inside;
}

Plan divide(const std::vector<Profile>& profiles, const std::vector<Feature>& features, double chord_mm,
            Lattice lattice) {
  std::vector<std::vector<Vec2>> polygons;
  for (const Profile& p : profiles) polygons.push_back(snapped_polygon(p.loop, chord_mm, lattice));

  std::vector<Placed> placed;
  for (const std::vector<int>& members : clusters_of(profiles, polygons, clear_in_chords * chord_mm)) {
    if (members.size() == 1) {
      placed.push_back({single(polygons[members[0]], members[0])});
      continue;
    }
    const std::vector<Component> parts = arrange(profiles, members, chord_mm, lattice);
    refuse_crossings(parts, profiles, features, std::min(chord_mm, 0.01));
    for (const Component& c : parts) placed.push_back({c});
  }

  Plan plan;
  plan.covered = nest(placed);
  for (const Placed& p : placed) {
    std::map<std::pair<double, double>, std::uint32_t> branch_ids;
    const auto global = [&](int local) { return local == 0 ? p.parent : p.first_face + local - 1; };
    for (const Chain& chain : p.part.chains) {
      Plan::Edge edge;
      edge.closed = chain.closed;
      edge.left = global(chain.left);
      edge.right = global(chain.right);
      edge.profiles = chain.profiles;
      for (std::size_t i = 0; i < chain.points.size(); ++i) {
        const bool branch = !chain.closed && (i == 0 || i + 1 == chain.points.size());
        std::uint32_t id = static_cast<std::uint32_t>(plan.vertices.size());
        if (branch) id = branch_ids.emplace(std::make_pair(chain.points[i].x, chain.points[i].y), id).first->second;
        if (id == plan.vertices.size()) {
          plan.vertices.push_back(chain.points[i]);
          plan.touching.emplace_back();
        }
        plan.touching[id].insert(plan.touching[id].end(), chain.profiles.begin(), chain.profiles.end());
        edge.vertices.push_back(id);
      }
      plan.edges.push_back(std::move(edge));
    }
  }
  return plan;
}

}  // namespace bedwright
