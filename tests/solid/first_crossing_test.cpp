// What a cut body's facets do to each other, against CGAL's search for self-intersections.
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/self_intersections.h>
#include <CGAL/Surface_mesh.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <iterator>
#include <random>

#include "base/trig.h"
#include "solid/plane_faces.h"

using namespace bedwright;

namespace {

using Pair = std::pair<std::uint32_t, std::uint32_t>;

std::optional<Pair> first_of_library(const Mesh& mesh) {
  using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
  using SurfaceMesh = CGAL::Surface_mesh<Kernel::Point_3>;
  SurfaceMesh surface;
  std::vector<SurfaceMesh::Vertex_index> ids;
  for (const Vec3& v : mesh.vertices) ids.push_back(surface.add_vertex({v.x, v.y, v.z}));
  for (const auto& t : mesh.triangles)
    REQUIRE(surface.add_face(ids[t[0]], ids[t[1]], ids[t[2]]) != SurfaceMesh::null_face());
  std::vector<std::pair<SurfaceMesh::Face_index, SurfaceMesh::Face_index>> pairs;
  CGAL::Polygon_mesh_processing::self_intersections(surface, std::back_inserter(pairs));
  std::optional<Pair> first;
  for (const auto& [f, g] : pairs) {
    const Pair pair = std::minmax<std::uint32_t>(f, g);
    first = first ? std::min(*first, pair) : pair;
  }
  return first;
}

/// A ball of rings, its corners on a lattice so coarse that faces touch and lie in one plane now and then.
Mesh ball(int rings, int around, std::mt19937& random, double unevenness) {
  Mesh m;
  const auto off = [&] { return unevenness * (static_cast<double>(random() % 1001) / 500 - 1); };
  const auto on_lattice = [](double v) { return std::round(4 * v) / 4; };
  const auto place = [&](double lat, double lon) {
    const Vec3 p{8 * cos_rad(lat) * cos_rad(lon), 8 * cos_rad(lat) * sin_rad(lon), 8 * sin_rad(lat)};
    m.vertices.push_back({on_lattice(p.x + off()), on_lattice(p.y + off()), on_lattice(p.z + off())});
  };
  place(-pi / 2, 0);
  for (int i = 1; i < rings; ++i)
    for (int k = 0; k < around; ++k) place(-pi / 2 + pi * i / rings, 2 * pi * k / around);
  place(pi / 2, 0);
  const auto n = static_cast<std::uint32_t>(around), top = static_cast<std::uint32_t>(m.vertices.size() - 1);
  for (std::uint32_t k = 0; k < n; ++k) {
    const std::uint32_t next = (k + 1) % n;
    m.triangles.push_back({0, 1 + next, 1 + k});
    for (std::uint32_t i = 0; i + 2 < static_cast<std::uint32_t>(rings); ++i) {
      const std::uint32_t low = 1 + i * n, high = low + n;
      m.triangles.push_back({low + k, low + next, high + next});
      m.triangles.push_back({low + k, high + next, high + k});
    }
    m.triangles.push_back({top, top - n + k, top - n + next});
  }
  return m;
}

}  // namespace

TEST_CASE("first crossing: what CGAL finds in uneven balls, and nothing where it finds nothing") {
  std::mt19937 random(11);
  int crossing = 0;
  for (int i = 0; i < 300; ++i) {
    Divided ball_of_facets{ball(5, 8, random, i % 3 * 1.5), {}, 0};
    const Mesh& m = ball_of_facets.mesh;
    for (std::size_t f = 0; f < m.triangles.size(); ++f) ball_of_facets.face.push_back(ball_of_facets.faces++);
    const std::optional<Pair> first = first_crossing(ball_of_facets), wanted = first_of_library(m);
    crossing += wanted.has_value();
    CAPTURE(i);
    CHECK(first == wanted);
  }
  CHECK(crossing > 50);
  CHECK(crossing < 250);
  CHECK_FALSE(first_crossing({}));
}
