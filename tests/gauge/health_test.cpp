#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdint>

#include "base/exact.h"
#include "base/facets_cross.h"
#include "gauge/crossing.h"
#include "gauge/gauge.h"
#include "gauge/health.h"
#include "gauge/measure_apart.h"
#include "gauge/shapes.h"

using namespace bedwright;

namespace {

/// Thin closed rods side by side, all slanted alike: none meets another, but each lies in the box of every other.
Mesh rods(int count) {
  Mesh m;
  for (int i = 0; i < count; ++i) {
    const Vec3 at{40.0 * i / count, -40.0 * i / count, 0};
    const auto n = static_cast<std::uint32_t>(m.vertices.size());
    for (const Vec3 corner : {Vec3{0, 0, 0}, Vec3{0.002, 0, 0}, Vec3{0, 0.002, 0}, Vec3{100, 100, 100}})
      m.vertices.push_back(at + corner);
    for (const std::array<std::uint32_t, 3> t :
         {std::array<std::uint32_t, 3>{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {2, 0, 3}})
      m.triangles.push_back({n + t[0], n + t[1], n + t[2]});
  }
  return m;
}

/// Square ring: one through hole, so V - E + F = 0.
Mesh ring() {
  return shapes::turned_profile({{2, 0}, {5, 0}, {5, 3}, {2, 3}}, 16);
}

bool sound(const MeshHealth& h) {
  return h.closed && h.watertight && h.oriented && h.self_intersections == 0 && h.degenerate == 0 && h.flipped == 0 &&
         h.wrong_shells == 0 && h.open_edges == 0;
}

}  // namespace

TEST_CASE("measure_apart: whichever task is done first, the measurement is the same") {
  Mesh m = shapes::soup(ring());
  std::swap(m.triangles[5][0], m.triangles[5][1]);
  const Measurement one = measure(m), other = measure_apart(m, [](const std::vector<Task>&tasks) {
                                        for (std::size_t k = tasks.size(); k-- > 0;) tasks[k]();
                                      });
  CHECK(one.health.flipped == other.health.flipped);
  CHECK(one.health.self_intersections == other.health.self_intersections);
  CHECK(one.mesh.triangles == other.mesh.triangles);
  REQUIRE(one.features.size() == other.features.size());
  REQUIRE_FALSE(one.features.empty());
  for (std::size_t i = 0; i < one.features.size(); ++i) {
    CHECK(one.features[i].kind == other.features[i].kind);
    CHECK(one.features[i].diameter_mm == other.features[i].diameter_mm);
  }
}

TEST_CASE("health: a box and a ring are sound, with Euler numbers 2 and 0") {
  const MeshHealth b = inspect(shapes::soup(shapes::box({0, 0, 0}, {10, 20, 30}))), r = inspect(shapes::soup(ring()));
  CHECK(sound(b));
  CHECK(b.euler == 2);
  CHECK(b.pieces == 1);
  CHECK(sound(r));
  CHECK(r.euler == 0);
  // Half of a 10 x 20 face: height over the diagonal, 10 * 20 / sqrt(500).
  CHECK(b.least_height_mm == Approx(200 / std::sqrt(500.0)).epsilon(1e-12));
}

TEST_CASE("health: a missing facet opens three edges") {
  Mesh m = ring();
  m.triangles.pop_back();
  const MeshHealth h = inspect(m);
  CHECK_FALSE(h.closed);
  CHECK_FALSE(h.watertight);
  CHECK(h.open_edges == 3);
  CHECK(h.flipped == 0);
}

TEST_CASE("health: one facet turned over is counted, the rest is not") {
  Mesh m = ring();
  std::swap(m.triangles[5][0], m.triangles[5][1]);
  const MeshHealth h = inspect(m);
  CHECK(h.watertight);
  CHECK_FALSE(h.closed);
  CHECK_FALSE(h.oriented);
  CHECK(h.flipped == 1);
  CHECK(h.open_edges == 3);
}

TEST_CASE("health: inside out is closed but not oriented") {
  const MeshHealth h = inspect(shapes::inside_out(ring()));
  CHECK(h.closed);
  CHECK_FALSE(h.oriented);
  CHECK(h.flipped == 0);
  CHECK(h.wrong_shells == 1);
}

TEST_CASE("health: a cavity faces inward, a second piece outward") {
  const Mesh outer = shapes::box({0, 0, 0}, {10, 10, 10}), inner = shapes::box({2, 2, 2}, {5, 5, 5}),
             beside = shapes::box({20, 0, 0}, {25, 5, 5});
  const MeshHealth cavity = inspect(shapes::joined(outer, shapes::inside_out(inner)));
  CHECK(sound(cavity));
  CHECK(cavity.pieces == 2);
  const MeshHealth filled = inspect(shapes::joined(outer, inner));
  CHECK_FALSE(filled.oriented);
  CHECK(filled.wrong_shells == 1);
  CHECK(sound(inspect(shapes::joined(outer, beside))));
  CHECK_FALSE(inspect(shapes::joined(outer, shapes::inside_out(beside))).oriented);
}

TEST_CASE(
    "health: of many bodies with cavities, bodies in cavities and bodies side by side, the one turned over is told") {
  Mesh many;
  for (int i = 0; i < 300; ++i) {
    const Vec3 at{20.0 * (i % 20), 20.0 * (i / 20), 5.0 * (i % 3)};
    const auto cube = [&at](double from, double to) {
      return shapes::box(at + Vec3{from, from, from}, at + Vec3{to, to, to});
    };
    many = shapes::joined(many, shapes::joined(cube(0, 10), shapes::inside_out(cube(2, 8))));
    many = shapes::joined(many, cube(4, 6));
  }
  const MeshHealth good = inspect(many);
  CHECK(sound(good));
  CHECK(good.pieces == 900);
  // The cavity of the 17th: its 12 facets stand second of 36.
  for (std::size_t f = 17 * 36 + 12; f < 17 * 36 + 24; ++f) std::swap(many.triangles[f][0], many.triangles[f][1]);
  const MeshHealth bad = inspect(many);
  CHECK(bad.wrong_shells == 1);
  CHECK_FALSE(bad.oriented);
}

TEST_CASE("health: facets without area and with repeated corners are degenerate") {
  Mesh m = shapes::box({0, 0, 0}, {1, 1, 1});
  m.triangles.push_back({0, 0, 1});
  CHECK(inspect(m).degenerate == 1);
  m.vertices.push_back({0.5, 0, 0});
  m.vertices.push_back({0.25, 0, 0});
  m.vertices.push_back({0.75, 0, 0});
  const auto n = static_cast<std::uint32_t>(m.vertices.size());
  m.triangles.push_back({n - 3, n - 2, n - 1});
  CHECK(inspect(m).degenerate == 2);
  CHECK(inspect(m).least_height_mm == 0);
}

TEST_CASE("health: a vertex pushed through the opposite wall is a self-intersection") {
  // A plate 2 mm thick, its top divided: pull one inner vertex of the top down through the bottom.
  shapes::Plate plate;
  plate.outline = shapes::rectangle({0, 0}, {20, 20});
  plate.top = shapes::flat(2);
  plate.grid_mm = 4;
  Mesh m = shapes::build(plate);
  CHECK(inspect(m).self_intersections == 0);
  for (Vec3& v : m.vertices)
    if (v.z == 2 && std::fabs(v.x) < 8 && std::fabs(v.y) < 8) {
      v.z = -1;
      break;
    }
  const MeshHealth h = inspect(m);
  CHECK(h.closed);
  CHECK(h.self_intersections > 0);
}

TEST_CASE("health: a search that would not end is given up, and that is said") {
  const MeshHealth few = inspect(rods(300));
  CHECK(sound(few));
  CHECK(few.all_asked);
  CHECK(few.pieces == 300);
  // 4 x 3,000 facets in each other's boxes are 72 million pairs; a thirtieth of them may be asked.
  const Mesh many = rods(3000);
  CHECK_FALSE(inspect(many).all_asked);
  std::vector<Measurement> measured;
  for (const AtOnce& at_once : {AtOnce(one_by_one), AtOnce([](const std::vector<Task>& tasks) {
                                  for (std::size_t i = tasks.size(); i-- > 0;) tasks[i]();
                                })})
    measured.push_back(measure_apart(many, at_once));
  CHECK_FALSE(measured[0].health.all_asked);
  CHECK_FALSE(measured[1].health.all_asked);
  CHECK(measured[0].health.self_intersections == measured[1].health.self_intersections);
}

TEST_CASE("health: where it is given up which shells lie in which, they count as beside each other, and that is said") {
  // A box in a box: a cavity, which must face inward.
  const Mesh mesh = shapes::joined(shapes::box({0, 0, 0}, {10, 10, 10}), shapes::box({2, 2, 2}, {8, 8, 8}));
  const Topology topology = topology_of(mesh);
  const Sheets sheets = sheets_of(mesh, topology, facings_of(mesh));
  const Shells whole = shells_of(mesh, topology, sheets), cut_off = shells_of(mesh, topology, sheets, 5);
  CHECK(whole.all_asked);
  CHECK(whole.wrong_way == std::vector<std::uint8_t>{0, 1});
  CHECK_FALSE(cut_off.all_asked);
  CHECK(cut_off.wrong_way == std::vector<std::uint8_t>{0, 0});
  CHECK_FALSE(health_of(mesh, topology, facings_of(mesh), cut_off).all_asked);
}

TEST_CASE("health: interpenetrating, overlapping and touching boxes") {
  const Mesh a = shapes::box({0, 0, 0}, {10, 10, 10});
  CHECK(inspect(shapes::joined(a, shapes::box({5, 5, 5}, {15, 15, 15}))).self_intersections > 0);
  // Face on face with other corners: the facets overlap in one plane.
  CHECK(inspect(shapes::joined(a, shapes::box({10, 2, 2}, {15, 8, 8}))).self_intersections > 0);
  CHECK(inspect(shapes::joined(a, shapes::box({10.001, 2, 2}, {15, 8, 8}))).self_intersections == 0);
  // Sharing one whole edge only: touching at common vertices and a common edge is no intersection.
  CHECK(inspect(shapes::joined(a, shapes::box({10, 10, 0}, {20, 20, 10}))).self_intersections == 0);
}

TEST_CASE("crossing: fans and hinges") {
  Mesh m;
  m.vertices = {{0, 0, 0}, {4, 0, 0},    {0, 4, 0},   {4, 4, 0},  {1, 1, 0},
                {1, 1, 3}, {3, 0.5, -2}, {-2, -2, 1}, {-3, -2, 0}};
  m.triangles = {{0, 1, 2}, {1, 3, 2}, {0, 1, 4}, {0, 5, 6}, {0, 7, 8}, {0, 1, 3}};
  CHECK_FALSE(facets_cross(m, 0, 1));  // flat neighbours on either side of their edge
  CHECK(facets_cross(m, 0, 2));        // folded flat onto each other
  CHECK(facets_cross(m, 0, 3));        // one corner in common, then through the face
  CHECK_FALSE(facets_cross(m, 0, 4));  // one corner in common, pointing away
  CHECK(facets_cross(m, 0, 5));        // folded flat, other shape
}

TEST_CASE("exact: signs on nearly and exactly flat quadruples") {
  // Points of the plane x + y + z = 1 on the lattice: the determinant is exactly zero.
  const double u = 1.0 / 65536;
  const Vec3 a{0.25, 0.5, 0.25}, b{u, 0.5 - u, 0.5}, c{0.125, 3 * u, 0.875 - 3 * u}, d{0.5, 0.25 - 7 * u, 0.25 + 7 * u};
  CHECK(orient(a, b, c, d) == 0);
  CHECK(orient(a, b, c, {d.x, d.y, d.z + u / 65536}) == -orient(a, b, c, {d.x, d.y, d.z - u / 65536}));
  CHECK(orient(a, b, c, {d.x, d.y, d.z + u / 65536}) != 0);
  // Not whole numbers of the lattice: expansions decide. (1/3 is not exact, but a point counted twice is.)
  const Vec3 p{1.0 / 3, 1.0 / 7, 1.0 / 11}, q{1e-9 / 3, 5, 1.0 / 13}, r{7.0 / 9, 1e6 / 7, 3};
  CHECK(orient(p, q, r, p) == 0);
  CHECK(orient({0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, -1}) == 1);
  CHECK(orient({0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1e-300}) == -1);
  CHECK(orient_plane({0, 0, 0}, {1, 0, 0}, {0, 1, 0}, 2) == 1);
  CHECK(orient_plane({0, 0, 0}, {0, 1, 0}, {0, 0, 1}, 0) == 1);
  CHECK(orient_plane({0, 0, 0}, {0, 0, 1}, {1, 0, 0}, 1) == 1);
}

TEST_CASE("exact: signs on float32 corners of nearly flat quadruples agree with whole-number arithmetic") {
  // Corners that a fine mesh has: points of a tilted plane, each coordinate rounded to float32. All are whole numbers
  // of 2^-36 below 2^2, so that the determinant fits into 128 bits: 3 (2 + 36 + 1) + 3 = 120.
  const double unit = std::ldexp(1.0, -36);
  unsigned long long state = 20261126;
  const auto next = [&state] {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<double>(state >> 11) / 9007199254740992.0;
  };
  const auto rounded = [&](double v) {
    const volatile float f = static_cast<float>(std::round(v / unit) * unit);
    return std::round(static_cast<double>(f) / unit) * unit;
  };
  const auto units = [&](double v) { return static_cast<__int128>(std::llround(v / unit)); };
  int flat = 0, above = 0, below = 0;
  for (int n = 0; n < 20000; ++n) {
    Vec3 p[4];
    const double size = std::ldexp(1.0, -static_cast<int>(16 * next()));
    const Vec2 at{2 * next() - 1, 2 * next() - 1};
    for (Vec3& v : p) {
      const double x = rounded(at.x + size * (next() - 0.5)), y = rounded(at.y + size * (next() - 0.5));
      // Every other quadruple lies on steps, many of them on one.
      v = {x, y, n % 2 ? rounded(0.25 * x - 0.5 * y) : 0.25 * std::round(x * 1024) / 1024};
    }
    __int128 m[3][3];
    for (int i = 0; i < 3; ++i) {
      m[i][0] = units(p[i].x) - units(p[3].x);
      m[i][1] = units(p[i].y) - units(p[3].y);
      m[i][2] = units(p[i].z) - units(p[3].z);
    }
    const __int128 det = m[0][2] * (m[1][0] * m[2][1] - m[2][0] * m[1][1]) +
                         m[1][2] * (m[2][0] * m[0][1] - m[0][0] * m[2][1]) +
                         m[2][2] * (m[0][0] * m[1][1] - m[1][0] * m[0][1]);
    const int sign = (det > 0) - (det < 0);
    REQUIRE(orient(p[0], p[1], p[2], p[3]) == sign);
    REQUIRE(orient(p[1], p[0], p[2], p[3]) == -sign);
    const __int128 turn = (units(p[0].x) - units(p[2].x)) * (units(p[1].y) - units(p[2].y)) -
                          (units(p[0].y) - units(p[2].y)) * (units(p[1].x) - units(p[2].x));
    REQUIRE(orient_plane(p[0], p[1], p[2], 2) == (turn > 0) - (turn < 0));
    (sign == 0 ? flat : sign > 0 ? above : below) += 1;
  }
  CHECK(flat > 500);
  CHECK(above > 2000);
  CHECK(below > 2000);
}
