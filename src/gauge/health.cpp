#include "gauge/health.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/close_pairs.h"
#include "base/large_pages.h"
#include "base/trig.h"

namespace bedwright {
namespace {

struct ShellFacets {
  Box box{{1e300, 1e300, 1e300}, {-1e300, -1e300, -1e300}};
  std::vector<std::uint32_t> facets;  ///< ascending
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

/// What number_shells gives where no facet is turned against another and each belongs to a sheet: what hangs together
/// is known then.
void number_even_shells(const Sheets& sheets, Shells& s) {
  s.turned.assign(sheets.of_facet.size(), 0);
  reserve_large(s.shell, sheets.of_facet.size());
  std::vector<std::uint32_t> number(sheets.joined.size(), no_edge);
  for (const std::uint32_t sheet : sheets.of_facet) {
    std::uint32_t& shell = number[sheets.joined[sheet]];
    if (shell == no_edge) {
      shell = static_cast<std::uint32_t>(s.minority.size());
      s.minority.push_back(0);
    }
    s.shell.push_back(shell);
  }
}

/// Numbers the shells in the order of their first facets, and turns each shell's minority.
void number_shells(const Mesh& mesh, const Topology& topology, Shells& s) {
  const std::size_t facets = mesh.triangles.size();
  assign_large(s.shell, facets, no_edge);
  s.turned.assign(facets, 0);
  std::uint32_t shells = 0;
  std::vector<std::uint8_t> majority_turned;
  std::vector<std::uint32_t> stack;
  for (std::uint32_t seed = 0; seed < facets; ++seed) {
    if (s.shell[seed] != no_edge || has_repeated_vertex(mesh.triangles[seed])) continue;
    const std::uint32_t number = shells++;
    s.shell[seed] = number;
    stack.assign(1, seed);
    int count = 0, turned = 0;
    while (!stack.empty()) {
      const std::uint32_t f = stack.back();
      stack.pop_back();
      ++count;
      turned += s.turned[f];
      for (std::uint32_t k = 0; k < 3; ++k) {
        const std::uint32_t h = 3 * f + k, across = topology.other[h];
        if (across == no_edge || s.shell[facet_of(across)] != no_edge) continue;
        s.shell[facet_of(across)] = number;
        s.turned[facet_of(across)] = s.turned[f] ^ topology.against[h];
        stack.push_back(facet_of(across));
      }
    }
    majority_turned.push_back(2 * turned > count);
    s.minority.push_back(2 * turned > count ? count - turned : turned);
  }
  for (std::size_t f = 0; f < facets; ++f)
    if (s.shell[f] != no_edge) s.turned[f] ^= majority_turned[s.shell[f]];
}

/// How many other shells hold each shell, or none where that was given up. Only those whose boxes hold a point of it
/// are asked, each facet of them.
std::optional<std::vector<int>> depths_of(const Mesh& mesh, const std::vector<ShellFacets>& shells,
                                          const std::vector<std::uint8_t>& turned, std::size_t questions) {
  const auto count = static_cast<std::uint32_t>(shells.size());
  std::vector<int> depth(count, 0);
  if (count < 2) return depth;
  std::vector<Vec3> points;
  BoxedGroups boxes_and_points;
  for (std::uint32_t i = 0; i < count; ++i) {
    points.push_back(point_of(mesh, shells[i]));
    boxes_and_points.items.push_back({box_of({shells[i].box.low, shells[i].box.high}), i});
  }
  for (std::uint32_t i = 0; i < count; ++i) boxes_and_points.items.push_back({box_of({points[i]}), count + i});
  boxes_and_points.first = {0, count, 2 * count};
  boxes_and_points.apart = {1, 1};
  for_each_close_pair(std::move(boxes_and_points), [&](std::uint32_t one, std::uint32_t other) {
    const std::uint32_t box = std::min(one, other), point = std::max(one, other) - count;
    if (box == point || !box_holds(shells[box].box, points[point])) return true;
    questions -= std::min(questions, shells[box].facets.size());
    if (std::fabs(winding(mesh, shells[box], turned, points[point])) > 0.5) ++depth[point];
    return questions > 0;
  });
  if (questions == 0) return std::nullopt;
  return depth;
}

}  // namespace

Shells shells_of(const Mesh& mesh, const Topology& topology, const Sheets& sheets,
                 std::optional<std::size_t> questions) {
  Shells s;
  if (topology.same_way == 0 && sheets.facets.size() == mesh.triangles.size())
    number_even_shells(sheets, s);
  else
    number_shells(mesh, topology, s);
  const std::size_t count = s.minority.size();
  std::vector<ShellFacets> shells(count);
  std::vector<double> six(count, 0);
  const Vec3 centre = mesh.triangles.empty() ? Vec3{} : mesh.vertices[mesh.triangles[0][0]];
  for (std::uint32_t f = 0; f < mesh.triangles.size(); ++f) {
    const std::uint32_t number = s.shell[f];
    if (number == no_edge) continue;
    const auto& t = mesh.triangles[f];
    const Vec3 a = mesh.vertices[t[0]] - centre, b = mesh.vertices[t[1]] - centre, c = mesh.vertices[t[2]] - centre;
    six[number] += (s.turned[f] ? -1 : 1) * dot(a, cross(b, c));
    if (count == 1) continue;
    ShellFacets& shell = shells[number];
    shell.facets.push_back(f);
    for (std::uint32_t v : t) {
      const Vec3 p = mesh.vertices[v];
      shell.box.low = {std::min(shell.box.low.x, p.x), std::min(shell.box.low.y, p.y), std::min(shell.box.low.z, p.z)};
      shell.box.high = {std::max(shell.box.high.x, p.x), std::max(shell.box.high.y, p.y),
                        std::max(shell.box.high.z, p.z)};
    }
  }
  // A shell inside an odd number of others bounds a cavity and faces inward; all others face outward.
  const std::optional<std::vector<int>> known = 
      depths_of(mesh, shells, s.turned, questions.value_or(most_questions(mesh.triangles.size())));
  s.all_asked = known.has_value();
  const std::vector<int> depth = known.value_or(std::vector<int>(count, 0));
  for (std::size_t i = 0; i < count; ++i) {
    s.volume_mm3.push_back(six[i] / 6);
    s.wrong_way.push_back((s.volume_mm3[i] < 0) != (depth[i] % 2 == 1));
  }
  for (std::size_t f = 0; f < s.shell.size(); ++f)
    if (s.shell[f] != no_edge) s.turned[f] ^= s.wrong_way[s.shell[f]];
  return s;
}

MeshHealth health_of(const Mesh& mesh, const Topology& topology, const std::vector<Facing>& facings,
                     const Shells& shells) {
  MeshHealth h;
  double least_squared = std::numeric_limits<double>::infinity();
  int facets = 0;
  std::vector<std::uint8_t> used(mesh.vertices.size(), 0);
  for (std::size_t f = 0; f < mesh.triangles.size(); ++f) {
    const auto& t = mesh.triangles[f];
    if (has_repeated_vertex(t)) {
      ++h.degenerate;
      least_squared = 0;
      continue;
    }
    ++facets;
    for (std::uint32_t v : t) used[v] = 1;
    const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], c = mesh.vertices[t[2]];
    const Vec3 ab = b - a, bc = c - b, ca = a - c;
    if (is_null(facings[f].vector)) ++h.degenerate;
    const double twice_area = facings[f].twice_area;
    least_squared =
        std::min(least_squared, twice_area * twice_area / std::max({dot(ab, ab), dot(bc, bc), dot(ca, ca)}));
  }
  h.least_height_mm = facets > 0 ? std::sqrt(least_squared) : 0;
  h.open_edges = topology.unpaired + topology.same_way;
  h.watertight = topology.unpaired == 0 && facets > 0;
  h.closed = h.open_edges == 0 && facets > 0;
  h.all_asked = shells.all_asked;
  h.pieces = static_cast<int>(shells.volume_mm3.size());
  h.euler = static_cast<int>(std::count(used.begin(), used.end(), 1)) - topology.edges + facets;
  bool all_outward = true;
  for (std::size_t i = 0; i < shells.wrong_way.size(); ++i) {
    h.flipped += shells.minority[i];
    h.wrong_shells += shells.wrong_way[i];
    all_outward = all_outward && !shells.wrong_way[i] && shells.volume_mm3[i] != 0;
  }
  h.oriented = h.closed && all_outward;
  return h;
}

}  // namespace bedwright
