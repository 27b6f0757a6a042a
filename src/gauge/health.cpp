#include "gauge/health.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/large_pages.h"
#include "base/trig.h"
#include "gauge/crossing.h"

namespace bedwright {
namespace {

constexpr std::size_t most_crossings = 100000;  // counting on tells nobody more

struct ShellFacets {
  Box box{{1e300, 1e300, 1e300}, {-1e300, -1e300, -1e300}};
  std::vector<std::uint32_t> facets;
};

bool box_holds(const Box& box, Vec3 p) {
  return box.low.x <= p.x && p.x <= box.high.x && box.low.y <= p.y && p.y <= box.high.y && box.low.z <= p.z &&
         p.z <= box.high.z;
}

/// Winding number of the shell about p by solid angles (A. van Oosterom and J. Strackee, 1983): no ray can graze an
/// edge.
double winding(const Mesh& mesh, const ShellFacets& shell, const std::vector<std::uint8_t>& turned, Vec3 p) {
  double sum = 0;
  for (std::uint32_t f : shell.facets) {
    const auto& t = mesh.triangles[f];
    const Vec3 a = mesh.vertices[t[0]] - p, b = mesh.vertices[t[1]] - p, c = mesh.vertices[t[2]] - p;
    const double la = length(a), lb = length(b), lc = length(c);
    const double angle =
        2 * atan2_rad(dot(a, cross(b, c)), la * lb * lc + dot(a, b) * lc + dot(b, c) * la + dot(c, a) * lb);
    sum += turned[f] ? -angle : angle;
  }
  return sum / (4 * pi);
}

/// A point just on the shell: the middle of its largest facet.
Vec3 point_of(const Mesh& mesh, const ShellFacets& shell) {
  double most = -1;
  Vec3 point{};
  for (std::uint32_t f : shell.facets) {
    const auto& t = mesh.triangles[f];
    const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], c = mesh.vertices[t[2]];
    const double twice = length(cross(b - a, c - a));
    if (twice > most) {
      most = twice;
      point = (1.0 / 3) * (a + b + c);
    }
  }
  return point;
}

}  // namespace

Shells shells_of(const Mesh& mesh, const Topology& topology) {
  const std::size_t facets = mesh.triangles.size();
  Shells s;
  assign_large(s.shell, facets, no_edge);
  s.turned.assign(facets, 0);
  std::vector<ShellFacets> shells;
  std::vector<std::uint32_t> stack;
  const Vec3 centre = facets ? mesh.vertices[mesh.triangles[0][0]] : Vec3{};
  for (std::uint32_t seed = 0; seed < facets; ++seed) {
    if (s.shell[seed] != no_edge || has_repeated_vertex(mesh.triangles[seed])) continue;
    const auto number = static_cast<std::uint32_t>(shells.size());
    ShellFacets shell;
    s.shell[seed] = number;
    stack.assign(1, seed);
    int turned = 0;
    while (!stack.empty()) {
      const std::uint32_t f = stack.back();
      stack.pop_back();
      shell.facets.push_back(f);
      turned += s.turned[f];
      for (std::uint32_t k = 0; k < 3; ++k) {
        const std::uint32_t h = 3 * f + k, across = topology.other[h];
        if (across == no_edge || s.shell[facet_of(across)] != no_edge) continue;
        s.shell[facet_of(across)] = number;
        s.turned[facet_of(across)] = s.turned[f] ^ topology.against[h];
        stack.push_back(facet_of(across));
      }
    }
    std::sort(shell.facets.begin(), shell.facets.end());
    const int count = static_cast<int>(shell.facets.size());
    const bool majority_turned = 2 * turned > count;
    double six = 0;
    for (std::uint32_t f : shell.facets) {
      if (majority_turned) s.turned[f] ^= 1;
      const auto& t = mesh.triangles[f];
      const Vec3 a = mesh.vertices[t[0]] - centre, b = mesh.vertices[t[1]] - centre, c = mesh.vertices[t[2]] - centre;
      six += (s.turned[f] ? -1 : 1) * dot(a, cross(b, c));
      for (std::uint32_t v : t) {
        const Vec3 p = mesh.vertices[v];
        shell.box.low = {std::min(shell.box.low.x, p.x), std::min(shell.box.low.y, p.y),
                         std::min(shell.box.low.z, p.z)};
        shell.box.high = {std::max(shell.box.high.x, p.x), std::max(shell.box.high.y, p.y),
                          std::max(shell.box.high.z, p.z)};
      }
    }
    s.minority.push_back(majority_turned ? count - turned : turned);
    s.volume_mm3.push_back(six / 6);
    s.wrong_way.push_back(0);
    shells.push_back(std::move(shell));
  }
  // A shell inside an odd number of others bounds a cavity and faces inward; all others face outward.
  for (std::size_t i = 0; i < shells.size(); ++i) {
    int depth = 0;
    if (shells.size() > 1) {
      const Vec3 p = point_of(mesh, shells[i]);
      for (std::size_t k = 0; k < shells.size(); ++k)
        if (k != i && box_holds(shells[k].box, p) && std::fabs(winding(mesh, shells[k], s.turned, p)) > 0.5) ++depth;
    }
    s.wrong_way[i] = (s.volume_mm3[i] < 0) != (depth % 2 == 1);
    if (s.wrong_way[i])
      for (std::uint32_t f : shells[i].facets) s.turned[f] ^= 1;
  }
  return s;
}

MeshHealth health_of(const Mesh& mesh, const Topology& topology, const Shells& shells) {
  MeshHealth h;
  double least = std::numeric_limits<double>::infinity();
  int facets = 0;
  std::vector<std::uint8_t> used(mesh.vertices.size(), 0);
  for (const auto& t : mesh.triangles) {
    if (has_repeated_vertex(t)) {
      ++h.degenerate;
      least = 0;
      continue;
    }
    ++facets;
    for (std::uint32_t v : t) used[v] = 1;
    const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], c = mesh.vertices[t[2]];
    const double twice = length(cross(b - a, c - a));
    const double longest = std::max({length(b - a), length(c - b), length(a - c)});
    if (twice == 0) ++h.degenerate;
    least = std::min(least, twice / longest);
  }
  h.least_height_mm = facets > 0 ? least : 0;
  h.open_edges = topology.unpaired + topology.same_way;
  h.watertight = topology.unpaired == 0 && facets > 0;
  h.closed = h.open_edges == 0 && facets > 0;
  h.pieces = static_cast<int>(shells.volume_mm3.size());
  h.euler = static_cast<int>(std::count(used.begin(), used.end(), 1)) - topology.edges + facets;
  bool all_outward = true;
  for (std::size_t i = 0; i < shells.wrong_way.size(); ++i) {
    h.flipped += shells.minority[i];
    h.wrong_shells += shells.wrong_way[i];
    all_outward = all_outward && !shells.wrong_way[i] && shells.volume_mm3[i] != 0;
  }
  h.oriented = h.closed && all_outward;
  h.self_intersections = static_cast<int>(crossing_facets(mesh, most_crossings).size());
  return h;
}

MeshHealth inspect(const Mesh& soup) {
  const Mesh mesh = welded(soup);
  const Topology topology = topology_of(mesh);
  return health_of(mesh, topology, shells_of(mesh, topology));
}

}  // namespace bedwright
