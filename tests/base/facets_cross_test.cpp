// Facets that meet or do not, against theorems in whole numbers (first_crossing_test holds them against CGAL).
#include "base/facets_cross.h"

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <optional>
#include <random>
#include <set>

using namespace bedwright;

namespace {

using Whole = std::array<std::int64_t, 3>;
Whole minus(const Whole& a, const Whole& b) {
  return {a[0] - b[0], a[1] - b[1], a[2] - b[2]};
}
Whole across(const Whole& a, const Whole& b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}

/// Second method, in whole numbers: two closed triangles are apart exactly if some axis parts them, and one of the
/// normals, of the cross products of edges or of the edges' normals in their planes does (separating axis theorem).
bool apart(const std::array<Whole, 3>& s, const std::array<Whole, 3>& t) {
  std::vector<Whole> axes, edges_s, edges_t;
  for (int i = 0; i < 3; ++i) {
    edges_s.push_back(minus(s[(i + 1) % 3], s[i]));
    edges_t.push_back(minus(t[(i + 1) % 3], t[i]));
  }
  const Whole ns = across(edges_s[0], edges_s[1]), nt = across(edges_t[0], edges_t[1]);
  axes = {ns, nt};
  for (int i = 0; i < 3; ++i) {
    axes.push_back(across(ns, edges_s[i]));
    axes.push_back(across(nt, edges_t[i]));
    for (int k = 0; k < 3; ++k) axes.push_back(across(edges_s[i], edges_t[k]));
  }
  const auto along = [](const Whole& a, const Whole& p) { return a[0] * p[0] + a[1] * p[1] + a[2] * p[2]; };
  return std::any_of(axes.begin(), axes.end(), [&](const Whole& a) {
    const auto [ls, hs] = std::minmax({along(a, s[0]), along(a, s[1]), along(a, s[2])});
    const auto [lt, ht] = std::minmax({along(a, t[0]), along(a, t[1]), along(a, t[2])});
    return hs < lt || ht < ls;
  });
}

/// Whether some plane through the origin has all of the points strictly on one side: the point of their hull that is
/// nearest to it is a corner, or on an edge, or on a face, and tells the plane.
bool one_sided(const std::array<Whole, 4>& points) {
  const auto along = [](const Whole& a, const Whole& p) { return a[0] * p[0] + a[1] * p[1] + a[2] * p[2]; };
  std::vector<Whole> normals;
  for (const Whole& p : points) {
    normals.push_back(p);
    for (const Whole& q : points) {
      const Whole d = minus(q, p);
      normals.push_back({along(d, d) * p[0] - along(p, d) * d[0], along(d, d) * p[1] - along(p, d) * d[1],
                         along(d, d) * p[2] - along(p, d) * d[2]});
      for (const Whole& r : points) normals.push_back(across(d, minus(r, p)));
    }
  }
  return std::any_of(normals.begin(), normals.end(), [&](const Whole& n) {
    return std::all_of(points.begin(), points.end(), [&](const Whole& p) { return along(n, p) > 0; });
  });
}

/// The i-th try's corners, as whole numbers and as the mesh's vertices. Few places, so that corners on edges, edges on
/// faces and flat pairs are frequent.
template <std::size_t N>
std::array<Whole, N> some_places(std::mt19937& random, int i, Mesh& m) {
  const int reach = i % 2 ? 2 : 5;
  std::array<Whole, N> at;
  for (Whole& p : at) {
    for (std::int64_t& c : p) c = static_cast<std::int64_t>(random() % (2 * reach + 1)) - reach;
    if (i % 3 == 0) p[i % 9 / 3] = 1;
    m.vertices.push_back({p[0] * 0.125, p[1] * 0.125, p[2] * 0.125});
  }
  return at;
}

/// Facets of N corners, again and again: `meets` says which they are and whether they do, or nothing where a try is
/// none.
template <std::size_t N, typename Meets>
void hold_against(std::uint32_t seed, int tries, const Meets& meets) {
  std::mt19937 random(seed);
  int met = 0, tried = 0;
  for (int i = 0; i < tries; ++i) {
    Mesh m;
    const std::optional<bool> wanted = meets(some_places<N>(random, i, m), m);
    if (!wanted) continue;
    ++tried;
    met += *wanted;
    if (facets_cross(m, 0, 1) != *wanted) FAIL("pair " << i);
  }
  CHECK(tried > 30000);
  CHECK(met > 1000);
  CHECK(met < tried - 1000);
}

}  // namespace

// Beyond their common corner the facets meet where their angles do: nowhere if a plane through it parts these (Gordan).
TEST_CASE("crossing: facets with a common corner meet elsewhere exactly where no plane through it parts them") {
  hold_against<5>(7, 60000, [](const std::array<Whole, 5>& at, Mesh& m) -> std::optional<bool> {
    const Whole flat{0, 0, 0};
    const std::array<Whole, 4> from{minus(at[1], at[0]), minus(at[2], at[0]), minus(at[0], at[3]), minus(at[0], at[4])};
    const std::set<Whole> places(at.begin(), at.end());
    if (places.size() < at.size() || across(from[0], from[1]) == flat || across(from[2], from[3]) == flat)
      return std::nullopt;
    // Flat ones that touch along a ray lie beside each other, which is no crossing, or on each other.
    const auto ray = [&](std::size_t a, std::size_t b) {
      return across(from[a], from[b]) == flat && !one_sided({from[a], from[a], from[b], from[b]});
    };
    const bool one_plane = across(across(from[0], from[1]), across(from[2], from[3])) == flat;
    if (one_plane && (ray(0, 2) || ray(0, 3) || ray(1, 2) || ray(1, 3))) return std::nullopt;
    m.triangles = {{0, 1, 2}, {3, 0, 4}};
    return !one_sided(from);
  });
}

TEST_CASE("crossing: facets without a common corner meet exactly where no axis parts them") {
  hold_against<6>(5, 40000, [](const std::array<Whole, 6>& at, Mesh& m) -> std::optional<bool> {
    const std::array<Whole, 3> s{at[0], at[1], at[2]}, t{at[3], at[4], at[5]};
    const Whole flat{0, 0, 0};
    if (across(minus(s[1], s[0]), minus(s[2], s[0])) == flat || across(minus(t[1], t[0]), minus(t[2], t[0])) == flat)
      return std::nullopt;
    m.triangles = {{0, 1, 2}, {3, 4, 5}};
    return !apart(s, t);
  });
}
