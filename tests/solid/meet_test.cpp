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

TEST_CASE("meet: a rod through a plate", "[meet]") {
  const Mesh rod = cylinder_mesh({5, 5}, 2, -3, 13, 32);
  // A regular prism of n sides: n/2 r^2 sin(2 pi / n) h.
  CHECK(volume(rod) == Approx(16 * 4 * std::sin(2 * pi / 32) * 16));
  const auto o = overlap(box_mesh(cube({0, 0, 0}, 10)), rod, 0.01);
  REQUIRE(o);
  CHECK(o->volume_mm3 == Approx(16 * 4 * std::sin(2 * pi / 32) * 10));
  CHECK(o->box.low.z == Approx(0).margin(1e-9));
}
