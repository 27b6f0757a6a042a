#include "base/vec.h"

#include <catch2/catch.hpp>

#include "base/trig.h"

using namespace bedwright;

namespace {
// Sums of at most four products of numbers of this size: a few units in the last place.
double rounding(double size) { return 8 * 2.22e-16 * size; }

double apart(Vec3 a, Vec3 b) { return length(a - b); }
}  // namespace

TEST_CASE("the frame is right-handed: x cross y is z", "[base][vec]") {
  CHECK(cross(Vec3{1, 0, 0}, Vec3{0, 1, 0}) == Vec3{0, 0, 1});
  CHECK(cross(Vec3{0, 1, 0}, Vec3{0, 0, 1}) == Vec3{1, 0, 0});
  CHECK(cross(Vec3{0, 0, 1}, Vec3{1, 0, 0}) == Vec3{0, 1, 0});
  CHECK(cross(Vec2{1, 0}, Vec2{0, 1}) == 1);
  CHECK(cross(Vec2{0, 1}, Vec2{1, 0}) == -1);
}

TEST_CASE("lengths of Pythagorean vectors are exact", "[base][vec]") {
  CHECK(length(Vec2{3, -4}) == 5);
  CHECK(length(Vec3{2, -3, 6}) == 7);
  CHECK(dot(Vec3{1, 2, 3}, Vec3{4, -5, 6}) == 12);
  CHECK(-Vec2{1, -2} == Vec2{-1, 2});
  CHECK(Vec2{1, 2} != Vec2{1, 3});
  CHECK(Vec3{1, 2, 3} != Vec3{1, 2, 4});
}

TEST_CASE("a quarter turn takes the next axis to the one after it", "[base][vec]") {
  const Vec3 x{1, 0, 0}, y{0, 1, 0}, z{0, 0, 1};
  CHECK(apply(quarter_turn(0, 1), y) == z);
  CHECK(apply(quarter_turn(0, 1), x) == x);
  CHECK(apply(quarter_turn(1, 1), z) == x);
  CHECK(apply(quarter_turn(2, 1), x) == y);
  CHECK(apply(quarter_turn(2, 1), y) == -x);
  CHECK(apply(quarter_turn(0, 2), Vec3{1, 2, 3}) == Vec3{1, -2, -3});
}

TEST_CASE("quarter turns count modulo four, backwards too", "[base][vec]") {
  const Vec3 p{1.5, -2.25, 7};
  for (int axis = 0; axis < 3; ++axis)
    for (int quarter = -5; quarter <= 5; ++quarter) {
      CHECK(apply(quarter_turn(axis, quarter), p) == apply(quarter_turn(axis, quarter + 4), p));
      CHECK(apply(quarter_turn(axis, -quarter), apply(quarter_turn(axis, quarter), p)) == p);
    }
}

TEST_CASE("compose applies its second argument first", "[base][vec]") {
  const Transform turn_then_shift = compose(shift({10, 0, 0}), quarter_turn(2, 1));
  CHECK(apply(turn_then_shift, {1, 0, 0}) == Vec3{10, 1, 0});
  const Transform shift_then_turn = compose(quarter_turn(2, 1), shift({10, 0, 0}));
  CHECK(apply(shift_then_turn, {1, 0, 0}) == Vec3{0, 11, 0});
}

TEST_CASE("a direction is turned but not shifted", "[base][vec]") {
  const Transform t = compose(shift({5, 6, 7}), quarter_turn(0, 1));
  CHECK(turn(t, {0, 1, 0}) == Vec3{0, 0, 1});
  CHECK(apply(t, {0, 1, 0}) == Vec3{5, 6, 8});
}

TEST_CASE("the inverse undoes a turn with a shift", "[base][vec]") {
  const Transform t = compose(shift({-80, 45.5, 6}), compose(turn_about_z(0.7), quarter_turn(1, 3)));
  const Vec3 p{12, -34, 56};
  CHECK(apart(apply(inverse(t), apply(t, p)), p) <= rounding(200));
  CHECK(apart(apply(compose(t, inverse(t)), p), p) <= rounding(200));
}

TEST_CASE("the inverse undoes a mirror with a shift", "[base][vec]") {
  Transform mirror;
  mirror.m[0] = -1;
  const Transform t = compose(shift({1, 2, 3}), mirror);
  CHECK(apply(inverse(t), apply(t, {4, 5, 6})) == Vec3{4, 5, 6});
}

TEST_CASE("turn_about_z is right-handed and agrees with quarter turns", "[base][vec]") {
  CHECK(apart(apply(turn_about_z(pi / 2), {1, 0, 0}), {0, 1, 0}) <= trig_error);
  CHECK(apart(apply(turn_about_z(pi), {3, 4, 5}), apply(quarter_turn(2, 2), {3, 4, 5})) <= 10 * trig_error);
  CHECK(apart(apply(turn_about_z(30 * rad_per_deg), {2, 0, 1}), {std::sqrt(3.0), 1, 1}) <= 4 * trig_error);
}

TEST_CASE("the determinant tells a turn from a mirror", "[base][vec]") {
  for (int axis = 0; axis < 3; ++axis) CHECK(determinant(quarter_turn(axis, 1)) == 1);
  CHECK(std::fabs(determinant(turn_about_z(1.1)) - 1) <= 4 * trig_error);
  CHECK(determinant(shift({9, 9, 9})) == 1);
  for (int axis = 0; axis < 3; ++axis) {
    Transform mirror;
    mirror.m[5 * axis] = -1;
    CHECK(determinant(mirror) == -1);
    CHECK(determinant(compose(mirror, mirror)) == 1);
  }
}
