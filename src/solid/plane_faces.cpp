#include "solid/plane_faces.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <numeric>
#include <optional>

#include "base/close_pairs.h"
#include "base/facets_cross.h"
#include "base/joined.h"
#include "solid/cap.h"
#include "solid/half_edges.h"

namespace bedwright {
namespace {

using Id = std::uint32_t;
using Ring = std::vector<Id>;
using Triangle = std::array<Id, 3>;

// Flat facets are few: a hole that just grazes a rounded corner makes two.
constexpr int most_turns = 500;
constexpr int most_rounds = 4;  // of new corners: each halves what is left
// A new corner keeps this many least heights to the next one.
constexpr double corners_apart = 2;

using Face = PlaneFace;

Vec3 twice_area(const Mesh& m, const Triangle& t) {
  return cross(m.vertices[t[1]] - m.vertices[t[0]], m.vertices[t[2]] - m.vertices[t[0]]);
}

bool before(Vec3 a, Vec3 b) {
  return a.x != b.x ? a.x < b.x : a.y != b.y ? a.y < b.y : a.z < b.z;
}

double height_of(const Mesh& m, const Triangle& t) {
  const Vec3 a = m.vertices[t[0]], b = m.vertices[t[1]], c = m.vertices[t[2]];
  const double longest = std::max({dot(b - a, b - a), dot(c - b, c - b), dot(a - c, a - c)});
  return longest > 0 ? length(cross(b - a, c - a)) / std::sqrt(longest) : 0;
}

/// Doubled corners out, and what is no longer a ring.
void tidy(Ring& ring) {
  bool changed = true;
  while (changed && ring.size() > 1) {
    changed = false;
    for (std::size_t i = 0; i < ring.size() && ring.size() > 1; ++i) {
      const std::size_t n = ring.size();
      if (ring[i] == ring[(i + 1) % n]) {
        ring.erase(ring.begin() + static_cast<std::ptrdiff_t>(i));
        changed = true;
      } else if (n > 2 && ring[i] == ring[(i + 2) % n]) {
        // There and back again.
        const std::size_t next = (i + 1) % n;
        ring.erase(ring.begin() + static_cast<std::ptrdiff_t>(next));
        changed = true;
      }
    }
  }
  if (ring.size() < 3) ring.clear();
}

/// Ids in the order of their places, so that what follows does not depend on how the mesh came; near corners are one.
Mesh settled(const std::vector<Vec3>& points, std::vector<Face>& faces, double least_height) {
  std::vector<Id> used;
  for (const Face& f : faces)
    for (const Ring& r : f.rings) used.insert(used.end(), r.begin(), r.end());
  const auto less = [&](Id a, Id b) { return before(points[a], points[b]); };
  std::sort(used.begin(), used.end(), less);
  Mesh out;
  std::vector<Id> renamed(points.size(), 0);
  for (Id v : used) {
    if (out.vertices.empty() || !(out.vertices.back() == points[v])) out.vertices.push_back(points[v]);
    renamed[v] = static_cast<Id>(out.vertices.size()) - 1;
  }
  std::vector<Id> parent(out.vertices.size());
  std::iota(parent.begin(), parent.end(), 0u);
  for (Face& f : faces)
    for (Ring& r : f.rings) {
      for (Id& v : r) v = renamed[v];
      for (std::size_t i = 0; i < r.size(); ++i) {
        const Id a = r[i], b = r[(i + 1) % r.size()];
        if (length(out.vertices[a] - out.vertices[b]) < least_height) join(parent, a, b);
      }
    }
  for (Face& f : faces) {
    for (Ring& r : f.rings) {
      for (Id& v : r) v = root_of(parent, v);
      tidy(r);
      if (!r.empty()) std::rotate(r.begin(), std::min_element(r.begin(), r.end()), r.end());
    }
    f.rings.erase(std::remove_if(f.rings.begin(), f.rings.end(), [](const Ring& r) { return r.empty(); }),
                  f.rings.end());
    std::sort(f.rings.begin(), f.rings.end());
  }
  faces.erase(std::remove_if(faces.begin(), faces.end(), [](const Face& f) { return f.rings.empty(); }), faces.end());
  std::sort(faces.begin(), faces.end(), [](const Face& a, const Face& b) { return a.rings < b.rings; });
  return out;
}

/// The face's facets.
std::vector<Triangle> divided(const Face& face, const Mesh& out) {
  const Vec3 n = face.normal;
  const double x = std::fabs(n.x), y = std::fabs(n.y), z = std::fabs(n.z);
  const int drop = x > y && x > z ? 0 : y > z ? 1 : 2;
  const bool up = (drop == 0 ? n.x : drop == 1 ? n.y : n.z) > 0;
  std::vector<Vec2> points;
  std::vector<Id> ids;
  std::map<Id, Id> local;
  CapBoundary boundary;
  for (const Ring& ring : face.rings) {
    boundary.rings.emplace_back();
    for (Id v : ring) {
      const auto [entry, fresh] = local.emplace(v, static_cast<Id>(ids.size()));
      if (fresh) {
        const Vec3 p = out.vertices[v];
        points.push_back(drop == 0 ? Vec2{p.y, p.z} : drop == 1 ? Vec2{p.z, p.x} : Vec2{p.x, p.y});
        ids.push_back(v);
      }
      boundary.rings.back().push_back(entry->second);
    }
  }
  std::vector<Triangle> facets;
  for (const auto& t : triangulate_cap(points, boundary, 0, 0).triangles) {
    if (up)
      facets.push_back({ids[t[0]], ids[t[1]], ids[t[2]]});
    else
      facets.push_back({ids[t[0]], ids[t[2]], ids[t[1]]});
  }
  return facets;
}

/// Where p's foot on a border edge of the face is nearest.
struct Foot {
  Id a = 0, b = 0;
  Vec3 at{};
  double off = 0;
};
std::optional<Foot> nearest_foot(const Face& face, const Mesh& m, Id p, double least_height, Lattice lattice) {
  std::optional<Foot> best;
  for (const Ring& ring : face.rings)
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const Id a = ring[i], b = ring[(i + 1) % ring.size()];
      if (a == p || b == p) continue;
      const Vec3 d = m.vertices[b] - m.vertices[a], to = m.vertices[p] - m.vertices[a];
      const Vec3 at = snap(m.vertices[a] + (dot(to, d) / dot(d, d)) * d, lattice);
      if (dot(at - m.vertices[a], d) <= 0 || dot(m.vertices[b] - at, d) <= 0) continue;
      if (std::min(length(at - m.vertices[a]), length(at - m.vertices[b])) < corners_apart * least_height) continue;
      const double off = length(m.vertices[p] - at);
      if (off < least_height || (best && off >= best->off)) continue;
      best = Foot{a, b, at, off};
    }
  return best;
}

/// A new corner in both borders that the edge belongs to.
bool insert_corner(std::vector<Face>& faces, std::vector<bool>& changed, Id a, Id b, Id corner) {
  int done = 0;
  for (std::size_t f = 0; f < faces.size(); ++f)
    for (Ring& ring : faces[f].rings)
      for (std::size_t i = 0; i < ring.size(); ++i) {
        const Id p = ring[i], q = ring[(i + 1) % ring.size()];
        if (!((p == a && q == b) || (p == b && q == a))) continue;
        ring.insert(ring.begin() + static_cast<std::ptrdiff_t>(i) + 1, corner);
        changed[f] = true;
        ++done;
        ++i;
      }
  return done == 2;
}

/// Corners opposite the short sides of the face's flat facets, if it has any.
bool relieve(std::size_t face, const std::vector<Triangle>& facets, std::vector<Face>& faces,
             std::vector<bool>& changed, Mesh& m, double least_height, Lattice lattice) {
  bool any = false;
  for (const Triangle& t : facets) {
    if (height_of(m, t) >= least_height) continue;
    std::size_t shortest = 0;
    double least = 1e300;
    for (std::size_t k = 0; k < 3; ++k) {
      const double l = length(m.vertices[t[(k + 1) % 3]] - m.vertices[t[k]]);
      if (l < least) least = l, shortest = k;
    }
    for (const Id p : {t[shortest], t[(shortest + 1) % 3]}) {
      const std::optional<Foot> foot = nearest_foot(faces[face], m, p, least_height, lattice);
      if (!foot) continue;
      const auto corner = static_cast<Id>(m.vertices.size());
      m.vertices.push_back(foot->at);
      any = insert_corner(faces, changed, foot->a, foot->b, corner) || any;
    }
  }
  return any;
}

/// One flat facet whose long side belongs to a better neighbour: the two change their diagonal, and are faces of their
/// own from there.
bool turn_flat_facet(Divided& d, double least_height) {
  Mesh& m = d.mesh;
  if (std::none_of(m.triangles.begin(), m.triangles.end(),
                   [&](const Triangle& t) { return height_of(m, t) < least_height; }))
    return false;
  std::map<std::pair<Id, Id>, std::size_t> owner;
  for (std::size_t f = 0; f < m.triangles.size(); ++f)
    for (std::size_t k = 0; k < 3; ++k) owner[{m.triangles[f][k], m.triangles[f][(k + 1) % 3]}] = f;
  for (std::size_t f = 0; f < m.triangles.size(); ++f) {
    const Triangle t = m.triangles[f];
    const double height = height_of(m, t);
    if (height >= least_height) continue;
    std::size_t longest = 0;
    double most = 0;
    for (std::size_t k = 0; k < 3; ++k) {
      const double l = length(m.vertices[t[(k + 1) % 3]] - m.vertices[t[k]]);
      if (l > most) most = l, longest = k;
    }
    const Id a = t[longest], b = t[(longest + 1) % 3], v = t[(longest + 2) % 3];
    const auto beyond = owner.find({b, a});
    if (beyond == owner.end()) continue;
    const Triangle u = m.triangles[beyond->second];
    Id w = v;
    for (Id corner : u)
      if (corner != a && corner != b) w = corner;
    if (w == v || owner.count({v, w}) || owner.count({w, v})) continue;
    const Triangle one{a, w, v}, two{w, b, v};
    if (std::min(height_of(m, one), height_of(m, two)) <= height) continue;
    m.triangles[f] = one;
    m.triangles[beyond->second] = two;
    d.face[f] = d.faces++;
    d.face[beyond->second] = d.faces++;
    return true;
  }
  return false;
}

/// Vertices that are left, in order; facets from their least corner on, in order.
void put_in_order(Divided& d) {
  Mesh& m = d.mesh;
  std::vector<Id> used(m.vertices.size(), 0);
  for (const Triangle& t : m.triangles)
    for (Id v : t) used[v] = 1;
  Mesh out;
  for (Id v = 0; v < used.size(); ++v) {
    if (!used[v]) continue;
    used[v] = static_cast<Id>(out.vertices.size());
    out.vertices.push_back(m.vertices[v]);
  }
  std::vector<std::pair<Triangle, Id>> facets;
  for (std::size_t f = 0; f < m.triangles.size(); ++f) {
    Triangle t = m.triangles[f];
    for (Id& v : t) v = used[v];
    std::rotate(t.begin(), std::min_element(t.begin(), t.end()), t.end());
    facets.emplace_back(t, d.face[f]);
  }
  std::sort(facets.begin(), facets.end());
  for (std::size_t f = 0; f < facets.size(); ++f) {
    out.triangles.push_back(facets[f].first);
    d.face[f] = facets[f].second;
  }
  m = std::move(out);
}

}  // namespace

PlaneFaces faces_of(const FacedMesh& in) {
  const Mesh& m = in.mesh;
  const FaceBorders borders = borders_of(m, half_edges_of(m), in.flat);
  std::vector<Face> by_number(m.triangles.size());
  std::vector<bool> walked(borders.edges.twin.size(), false);
  for (const Id begin : borders.edges.in_order) {
    if (walked[begin] || !borders.is_border(begin)) continue;
    Ring ring;
    Id here = begin;
    do {
      walked[here] = true;
      if (borders.changes[from_of(m, here)] > 2) ring.push_back(from_of(m, here));
      here = borders.next_border(here);
    } while (here != begin);
    by_number[borders.face[begin / 3]].rings.push_back(std::move(ring));
  }
  for (Id f = 0; f < m.triangles.size(); ++f) {
    Face& own = by_number[borders.face[f]];
    own.normal = own.normal + twice_area(m, m.triangles[f]);
  }
  PlaneFaces out;
  out.points = m.vertices;
  for (Face& one : by_number)
    if (!one.rings.empty()) out.faces.push_back(std::move(one));
  return out;
}

Divided divided_anew(PlaneFaces given, double least_height, Lattice lattice) {
  std::vector<Face>& faces = given.faces;
  Divided result;
  Mesh& out = result.mesh = settled(given.points, faces, least_height);
  std::vector<std::vector<Triangle>> facets(faces.size());
  std::vector<bool> changed(faces.size(), true);
  for (int round = 0; round < most_rounds; ++round) {
    for (std::size_t f = 0; f < faces.size(); ++f)
      if (changed[f]) facets[f] = divided(faces[f], out);
    changed.assign(faces.size(), false);
    bool any = false;
    for (std::size_t f = 0; f < faces.size(); ++f)
      if (!changed[f]) any = relieve(f, facets[f], faces, changed, out, least_height, lattice) || any;
    if (!any) break;
  }
  for (std::size_t f = 0; f < faces.size(); ++f) {
    if (changed[f]) facets[f] = divided(faces[f], out);
    out.triangles.insert(out.triangles.end(), facets[f].begin(), facets[f].end());
    result.face.resize(out.triangles.size(), static_cast<Id>(f));
  }
  result.faces = static_cast<Id>(faces.size());
  for (int turns = 0; turns < most_turns && turn_flat_facet(result, least_height); ++turns) {
  }
  put_in_order(result);
  return result;
}

std::optional<std::pair<std::uint32_t, std::uint32_t>> first_crossing(const Divided& d) {
  std::vector<std::vector<Id>> of_face(d.faces);
  for (Id f = 0; f < d.face.size(); ++f) of_face[d.face[f]].push_back(f);
  BoxedGroups groups;
  for (const std::vector<Id>& facets : of_face) {
    if (facets.empty()) continue;
    groups.first.push_back(static_cast<Id>(groups.items.size()));
    groups.apart.push_back(1);
    for (const Id f : facets) {
      const Triangle& t = d.mesh.triangles[f];
      groups.items.push_back({box_of({d.mesh.vertices[t[0]], d.mesh.vertices[t[1]], d.mesh.vertices[t[2]]}), f});
    }
  }
  groups.first.push_back(static_cast<Id>(groups.items.size()));
  std::optional<std::pair<Id, Id>> first;
  for_each_close_pair(std::move(groups), [&](Id f, Id g) {
    if (!facets_cross(d.mesh, f, g)) return true;
    const std::pair<Id, Id> pair = std::minmax(f, g);
    first = first ? std::min(*first, pair) : pair;
    return true;
  });
  return first;
}

}  // namespace bedwright
