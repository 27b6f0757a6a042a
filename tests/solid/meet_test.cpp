// Overlaps of boxes and prisms against what arithmetic says.
#include "solid/meet.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "base/trig.h"

using namespace bedwright;

namespace {

Box cube(Vec3 low, double side) {
  return {low, low + Vec3{side, side, side}};
}

}  // namespace

TEST_CASE("meet: two boxes share the box between them", "[meet]") {
  const Mesh a = box_mesh(cube({0, 0, 0}, 10)), b = box_mesh({{8, -1, 4}, {20, 11, 5}});
  REQUIRE(volume(a) == Approx(1000));
  const auto o = overlap(a, b, 0);
  REQUIRE(o);
  CHECK(o->volume_mm3 == Approx(2 * 10 * 1));
  CHECK(o->box.low.x == Approx(8));
  CHECK(o->box.high.z == Approx(5));
  CHECK(o->depth_mm() == Approx(1));
}

TEST_CASE("meet: apart, touching and just in each other", "[meet]") {
  const Mesh a = box_mesh(cube({0, 0, 0}, 10));
  CHECK_FALSE(meets(a, box_mesh(cube({10.001, 0, 0}, 10))));
  // Faces in one plane touch: contact, without depth.
  CHECK(meets(a, box_mesh(cube({10, 2, 2}, 5))));
  CHECK_FALSE(overlap(a, box_mesh(cube({10, 2, 2}, 5)), 1e-9));
  CHECK_FALSE(overlap(a, box_mesh(cube({9.991, 2, 2}, 5)), 0.01));
  const auto o = overlap(a, box_mesh(cube({9.98, 2, 2}, 5)), 0.01);
  REQUIRE(o);
  CHECK(o->depth_mm() == Approx(0.02));
}

TEST_CASE("meet: one inside the other", "[meet]") {
  const Mesh a = box_mesh(cube({0, 0, 0}, 10)), b = box_mesh(cube({4, 4, 4}, 1));
  CHECK(meets(a, b));
  CHECK(meets(b, a));
  const auto o = overlap(a, b, 0.01);
  REQUIRE(o);
  CHECK(o->volume_mm3 == Approx(1));
}

TEST_CASE("meet: inside a body's box is not inside the body", "[meet]") {
  // A tube 20 wide with a bore of 10: seen from the bore, what looks up and what looks down over it are as many.
  const Mesh outside = cylinder_mesh({0, 0}, 10, 0, 12, 32);
  Mesh tube = outside;
  Mesh bore = cylinder_mesh({0, 0}, 5, 2, 10, 16);
  for (auto& t : bore.triangles) std::swap(t[0], t[1]);
  const auto first = static_cast<std::uint32_t>(tube.vertices.size());
  tube.vertices.insert(tube.vertices.end(), bore.vertices.begin(), bore.vertices.end());
  for (const auto& t : bore.triangles) tube.triangles.push_back({t[0] + first, t[1] + first, t[2] + first});
  // The corner that is asked stands below corners, edges and diagonals of the facets over it.
  for (const Vec3 at : {Vec3{0, 0, 4}, {-1, 2, 3}, {2.5, 2.5, 5}, {-2, -2, 2.5}, {0, 3, 4}}) {
    CAPTURE(at.x, at.y, at.z);
    const Mesh small = box_mesh(cube(at, 0.5));
    CHECK(meets(outside, small));
    CHECK_FALSE(meets(tube, small));
  }
  for (const Vec3 at : {Vec3{-7.5, 0, 4}, {6, 0, 4}, {0, 6.5, 5}, {0, -7, 6}, {0, 0, 0.5}, {0, 0, 10.75}}) {
    CAPTURE(at.x, at.y, at.z);
    CHECK(meets(tube, box_mesh(cube(at, 0.5))));
  }
}

TEST_CASE("meet: a rod through a plate", "[meet]") {
  const Mesh rod = cylinder_mesh({5, 5}, 2, -3, 13, 32);
  // A regular prism of n sides: n/2 r^2 sin(2 pi / n) h.
  CHECK(volume(rod) == Approx(16 * 4 * std::sin(2 * pi / 32) * 16));
  const auto o = overlap(box_mesh(cube({0, 0, 0}, 10)), rod, 0.01);
  REQUIRE(o);
  CHECK(o->volume_mm3 == Approx(16 * 4 * std::sin(2 * pi / 32) * 10));
  CHECK(o->box.low.z == Approx(0).margin(1e-9));
}
