// One body less another as plane faces and edges: closed forms, the library's exact boolean on the same two, and what
// nobody can tell.
#include "solid/shape.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "base/trig.h"
#include "sketch.h"
#include "solid/build.h"
#include "solid/library_cut.h"
#include "solid/meet.h"
#include "solid/topology.h"

using namespace sketch;

namespace {

constexpr Lattice lattice{};
constexpr double gate_mm = 0.01;

Mesh cube(Vec3 low, Vec3 high) {
  return box_mesh({low, high});
}

/// What stands along Z, along X: its x is y then, its y is z.
Mesh along_x(const Mesh& m) {
  return transformed(m, {{0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1}});
}

Mesh prism(std::vector<Vec2> corners, double low, double high) {
  for (Vec2& c : corners) c = snap(c);
  return build_solid(part({add("prism", polygon_loop(corners), low, high)}));
}

std::optional<Shape> less(const Mesh& body, const Mesh& cutter) {
  return cut(shape_of(body, lattice), shape_of(cutter, lattice));
}

Mesh solid(const Shape& shape) {
  return divided_anew(faces_of(shape, lattice), gate_mm, lattice).mesh;
}

Mesh by_library(const Mesh& body, const Mesh& cutter) {
  const std::optional<PlaneFaces> faces = library_cut(body, cutter, {}, lattice);
  REQUIRE(faces);
  return divided_anew(*faces, gate_mm, lattice).mesh;
}

const Mesh block = cube({0, 0, 0}, {20, 12, 8});

}  // namespace

TEST_CASE("shape: a block has six faces, twelve edges, eight corners, and its box") {
  const Shape s = shape_of(block, lattice);
  CHECK(s.faces.size() == 6);
  CHECK(s.edges.size() == 24);
  CHECK(s.corners.size() == 8);
  CHECK(s.box.high == Vec3{20, 12, 8});
  for (std::uint32_t i = 0; i < s.edges.size(); ++i) {
    CHECK(s.edges[s.edges[i].twin].twin == i);
    CHECK(s.edges[s.edges[i].next].from == s.edges[i].to);
    CHECK(s.edges[s.edges[i].next].face == s.edges[i].face);
  }
}

TEST_CASE("shape: a square hole through a block, straight and askew") {
  // Through: the two faces that it opens in get a hole, four walls are new.
  const std::optional<Shape> straight = less(block, cube({3, 4, -1}, {6, 9, 9}));
  REQUIRE(straight);
  CHECK(straight->faces.size() == 10);
  CHECK(straight->corners.size() == 16);
  CHECK(volume(solid(*straight)) == Approx(20 * 12 * 8 - 3 * 5 * 8).epsilon(1e-12));
  // Its axis leans: by Cavalieri's principle the same area at each height.
  Mesh leaning = cube({3, 4, -1}, {6, 9, 9});
  for (Vec3& v : leaning.vertices)
    if (v.z > 0) v = v + Vec3{5, 1.5, 0};
  const std::optional<Shape> askew = less(block, leaning);
  REQUIRE(askew);
  CHECK(askew->corners.size() == 16);
  // Corners are rounded to the lattice: half a step each over the hole's walls.
  CHECK(volume(solid(*askew)) == Approx(20 * 12 * 8 - 3 * 5 * 8).margin(1e-3));
}

TEST_CASE("shape: a corner taken off, a pocket, a slot that parts a face in two") {
  const std::optional<Shape> corner = less(block, cube({15, 9, 5}, {21, 13, 9}));
  REQUIRE(corner);
  CHECK(corner->faces.size() == 9);
  CHECK(volume(solid(*corner)) == Approx(20 * 12 * 8 - 5 * 3 * 3).epsilon(1e-12));
  const std::optional<Shape> pocket = less(block, cube({3, 4, 2}, {6, 9, 9}));
  REQUIRE(pocket);
  CHECK(pocket->faces.size() == 11);
  CHECK(volume(solid(*pocket)) == Approx(20 * 12 * 8 - 3 * 5 * 6).epsilon(1e-12));
  const std::optional<Shape> slot = less(block, cube({3, -1, 2}, {6, 13, 9}));
  REQUIRE(slot);
  // The top is still one plane, of two faces when it is divided.
  CHECK(slot->faces.size() == 9);
  CHECK(faces_of(*slot, lattice).faces.size() == 10);
  CHECK(volume(solid(*slot)) == Approx(20 * 12 * 8 - 3 * 12 * 6).epsilon(1e-12));
  CHECK(solid(*slot).triangles == by_library(block, cube({3, -1, 2}, {6, 13, 9})).triangles);
}

TEST_CASE("shape: what does not meet stays, what lies inside is a hollow, what is swallowed is gone") {
  const std::optional<Shape> apart = less(block, cube({30, 0, 0}, {31, 1, 1}));
  REQUIRE(apart);
  CHECK(apart->faces.size() == 6);
  // Boxes meet, bodies do not: an L-shaped block with the cutter in its notch.
  const Mesh ell = solid(*less(block, cube({10, 6, -1}, {21, 13, 9})));
  const std::optional<Shape> in_notch = less(ell, cube({12, 8, 2}, {14, 10, 4}));
  REQUIRE(in_notch);
  CHECK(solid(*in_notch).vertices == ell.vertices);
  const std::optional<Shape> hollow = less(block, cube({3, 4, 2}, {6, 9, 5}));
  REQUIRE(hollow);
  CHECK(hollow->faces.size() == 12);
  CHECK(volume(solid(*hollow)) == Approx(20 * 12 * 8 - 3 * 5 * 3).epsilon(1e-12));
  const std::optional<Shape> swallowed = less(block, cube({-1, -1, -1}, {21, 13, 9}));
  REQUIRE(swallowed);
  CHECK(swallowed->faces.empty());
}

TEST_CASE("shape: what touches is told, and that it is flush") {
  struct Case {
    const char* what;
    Mesh cutter;
    bool flush;
  };
  // A wedge whose edge lies along x at (y, z), opening away from the block's front.
  const auto wedge = [](double y, double z) {
    return along_x(prism({{y, z}, {y - 5, z + 2}, {y - 5, z - 2}}, -1, 21));
  };
  const std::vector<Case> cases{
      {"a pocket that ends in the far wall", cube({3, 4, 0}, {6, 9, 9}), true},
      {"a block that stands on it", cube({3, 4, 8}, {6, 9, 10}), true},
      {"a pocket flush with a side", cube({3, 0, 2}, {6, 9, 9}), true},
      {"an edge that touches a wall along it", wedge(0, 3), false},
      {"two edges that cross", cube({-1, 12, 8}, {21, 14, 10}), true},
      {"an edge through an edge", wedge(3, 0), false},
      {"a pit whose tip touches the bottom",
       transformed(prism({{0, 0}, {6, 0}, {0, 6}}, 0, 9), {{1, 0, 0, 5, 0, 1, 0, 5, 1, 1, 1, 0, 0, 0, 0, 1}}), false},
      {"a corner that touches the top",
       transformed(prism({{0, 0}, {3, 0}, {0, 3}}, 0, 3), {{1, 0, 0, 5, 0, 1, 0, 5, 1, 1, 1, 8, 0, 0, 0, 1}}), false},
  };
  for (const Case& c : cases) {
    INFO(c.what);
    const Shape body = shape_of(block, lattice), cutter = shape_of(c.cutter, lattice);
    CHECK_FALSE(cut(body, cutter));
    CHECK(flush(body, cutter, lattice) == c.flush);
  }
  CHECK_FALSE(flush(shape_of(block, lattice), shape_of(cube({3, 4, 2}, {6, 9, 9}), lattice), lattice));
}

TEST_CASE("shape: moved by a little, what only touches is cut as the library cuts it") {
  // Two bevels that meet in a corner of the block, each with its edge on the other's.
  const Mesh one = along_x(prism({{-1, -1}, {2, -1}, {-1, 2}}, -1, 21)),
             two = transformed(prism({{-1, -1}, {2, -1}, {-1, 2}}, -1, 13),
                               {{1, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 1}});
  const std::optional<Shape> first = less(block, one);
  REQUIRE(first);
  const Shape second = shape_of(two, lattice);
  CHECK_FALSE(cut(*first, second));
  CHECK_FALSE(flush(*first, second, lattice));
  const std::optional<Shape> both = cut(*first, moved(second, {1.3e-6, 0.7e-6, 1.4e-6}));
  REQUIRE(both);
  const std::optional<PlaneFaces> expected = library_cut(block, one, two, lattice);
  REQUIRE(expected);
  const Mesh mesh = solid(*both), library = divided_anew(*expected, gate_mm, lattice).mesh;
  CHECK(mesh.vertices == library.vertices);
  CHECK(mesh.triangles == library.triangles);
  // Each takes a triangle of 1 x 1 off an edge; both take the pyramid at the corner.
  CHECK(volume(mesh) == Approx(20 * 12 * 8 - 0.5 * 20 - 0.5 * 12 + 1.0 / 3).epsilon(1e-12));
}

TEST_CASE("shape: planes that hardly turn from each other are left to the library") {
  Mesh slanted = cube({-1, -1, 4}, {21, 13, 9});
  // A ramp of a hundredth of a micrometre over the whole block: corners along it are known to a metre.
  for (Vec3& v : slanted.vertices)
    if (v.z < 5) v.z = 8 + (v.x > 0 ? 1.0 : -1.0) / 65536;
  CHECK_FALSE(less(block, slanted));
}

TEST_CASE("shape: random bodies and cutters as the library cuts them, to the byte") {
  std::mt19937 random(20260131);
  std::uniform_real_distribution<double> place(-1, 1), size(1.5, 7);
  int told = 0;
  for (int i = 0; i < 60; ++i) {
    INFO("case " << i);
    const Mesh body =
        build_solid(part({add("body", rectangle(0, 0, 44, 30, 6), 0, 20),
                          through("up", hole(-9 + 5 * place(random), 6 * place(random), 1.5 * size(random))),
                          down_to("step", rectangle(18, -9, 14, 10), 12 + 6 * place(random))}));
    std::vector<Vec2> corners;
    const Vec2 centre{14 * place(random), 10 + 9 * place(random)};
    const double r = size(random), turn = 3 * place(random);
    const int n = 3 + i % 9;
    for (int k = 0; k < n; ++k) {
      const double a = turn + 2 * pi * k / n;
      corners.push_back(centre + Vec2{r * std::cos(a), r * std::sin(a)});
    }
    const double low = i % 3 == 0 ? -30 : snap(15 * place(random));
    const Mesh cutter = along_x(prism(corners, low, i % 4 == 0 ? low + 9.03125 : 30));
    const std::optional<Shape> left = less(body, cutter);
    if (!left) continue;
    ++told;
    const Mesh mesh = solid(*left), library = by_library(body, cutter);
    CHECK(mesh.vertices == library.vertices);
    CHECK(mesh.triangles == library.triangles);
    const std::optional<Mesh> common = common_body(body, cutter);
    REQUIRE(common);
    // Corners nearer than the gate became one: no face of the cut moved farther.
    CHECK(volume(mesh) == Approx(volume(body) - volume(*common)).margin(gate_mm * area(*common)));
  }
  CHECK(told >= 55);
}
