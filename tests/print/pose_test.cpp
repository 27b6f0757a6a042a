// Shapes small enough that overhang and contact are known by hand.
#include "print/pose.h"

#include <algorithm>
#include <catch2/catch.hpp>

#include "base/lattice.h"
#include "print/wedge.h"

using namespace bedwright;

namespace {

void add_box(Mesh& mesh, Vec3 low, Vec3 high) {
  const auto n = static_cast<std::uint32_t>(mesh.vertices.size());
  for (int i = 0; i < 8; ++i)
    mesh.vertices.push_back({i & 1 ? high.x : low.x, i & 2 ? high.y : low.y, i & 4 ? high.z : low.z});
  static constexpr std::uint32_t faces[12][3] = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                                                 {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};
  for (const auto& f : faces) mesh.triangles.push_back({n + f[0], n + f[1], n + f[2]});
}

Mesh box(Vec3 low, Vec3 high) {
  Mesh mesh;
  add_box(mesh, low, high);
  return mesh;
}

/// A plate, 40 x 50, on four legs of 8 x 8 x 4. The legs' upper ends are left out: for weighing, that is enough.
/// With `ridge` the top rises by that much along the middle, so that it cannot lie on its top.
Mesh plate_on_legs(double thickness, double ridge) {
  Mesh mesh = box({-20, -25, 0}, {20, 25, thickness});
  if (ridge > 0) {
    mesh.vertices[4].z += ridge;
    mesh.vertices[7].z += ridge;
  }
  for (double x : {-20.0, 12.0})
    for (double y : {-25.0, 17.0}) {
      add_box(mesh, {x, y, -4}, {x + 8, y + 8, 0});
      mesh.triangles.erase(mesh.triangles.end() - 10, mesh.triangles.end() - 8);
    }
  return mesh;
}

const PrinterProfile printer;

bool exact_lattice(const Mesh& mesh) {
  for (const Vec3& v : mesh.vertices)
    if (snap(v) != v) return false;
  return true;
}

}  // namespace

TEST_CASE("a flat plate lies as installed", "[pose]") {
  const Pose pose = choose_pose({}, box({-20, -30, 0}, {20, 30, 6}), printer);
  CHECK(pose.overhang_mm2 == 0);
  CHECK(pose.contact_mm2 == Approx(2400));
  CHECK(pose.height_mm == 6);
  CHECK(pose.print_to_part.m == Transform{}.m);
  CHECK_THAT(pose.why, Catch::StartsWith("lies as installed"));
}

TEST_CASE("the same box lies as installed even when it is tall", "[pose]") {
  const Pose pose = choose_pose({}, box({-5, -5, 0}, {5, 5, 8}), printer);
  CHECK(pose.height_mm == 8);
}

TEST_CASE("a plate on legs stands on an edge and says why", "[pose]") {
  const Pose pose = choose_pose({}, plate_on_legs(6, 0.5), printer);
  // Lying, 40 x 50 less nothing: the whole underside faces down off the bed (the legs' tops coincide with it).
  CHECK_THAT(pose.why, Catch::StartsWith("stands on its"));
  CHECK_THAT(pose.why, Catch::Contains("2000 mm2"));
  CHECK(pose.height_mm == 40);
  // Its side is 50 x 6 and rises by 0.5 at one corner: (6 + 6.5) / 2 high; and two legs' sides.
  CHECK(pose.contact_mm2 == Approx(50 * 6.25 + 2 * 8 * 4));
}

TEST_CASE("a plate with a flat top lies on it", "[pose]") {
  const Pose pose = choose_pose({}, plate_on_legs(6, 0), printer);
  CHECK_THAT(pose.why, Catch::StartsWith("lies upside down"));
  CHECK(pose.height_mm == 10);
  CHECK(pose.overhang_mm2 == 0);
}

TEST_CASE("a sheet with a ridge is too slender to stand", "[pose]") {
  Mesh sheet = box({-40, -50, 0}, {40, 50, 0.8});
  sheet.vertices[0].z -= 0.25;
  const Pose pose = choose_pose({}, sheet, printer);
  CHECK(pose.height_mm < 2);
}

TEST_CASE("a part without a face to stand on lies as installed and says that it needs support", "[pose]") {
  // An octahedron: six points, no flat contact whichever axis is up.
  const Mesh solid{
      {{20, 0, 0}, {-20, 0, 0}, {0, 20, 0}, {0, -20, 0}, {0, 0, 9}, {0, 0, -9}},
      {{{0, 2, 4}}, {{2, 1, 4}}, {{1, 3, 4}}, {{3, 0, 4}}, {{2, 0, 5}}, {{1, 2, 5}}, {{3, 1, 5}}, {{0, 3, 5}}}};
  const Pose pose = choose_pose({}, solid, printer);
  CHECK(pose.contact_mm2 == 0);
  CHECK(pose.overhang_mm2 > 100);
  CHECK_THAT(pose.why, Catch::Contains("needs support"));
}

TEST_CASE("a 45 degree chamfer is no overhang, a flatter one is", "[pose]") {
  CHECK(choose_pose({}, wedge(4), printer).overhang_mm2 == 0);
  PrinterProfile low = printer;
  low.bed_mm.z = 4.5;
  // 20 wide, sqrt(6^2 + 4^2) long.
  CHECK(choose_pose({}, wedge(6), low).overhang_mm2 + choose_pose({}, wedge(6), low).contact_mm2 > 500);
}

TEST_CASE("the print frame stands on z = 0 with its box in the middle", "[pose]") {
  const Mesh solid = plate_on_legs(6, 0.5);
  const Pose pose = choose_pose({}, solid, printer);
  const Mesh print = in_print_frame(solid, pose);
  const Box b = bounding_box(print);
  CHECK(b.low.z == 0);
  CHECK(std::fabs(b.low.x + b.high.x) <= 2.0 / 65536);
  CHECK(std::fabs(b.low.y + b.high.y) <= 2.0 / 65536);
  CHECK(determinant(pose.print_to_part) == 1);
  CHECK(volume(print) == Approx(volume(solid)));
}

TEST_CASE("turning into the print frame and back is exact", "[pose]") {
  Mesh solid = plate_on_legs(6, 0.5);
  for (Vec3& v : solid.vertices) v = v + Vec3{7.0 / 65536, -3.0 / 65536, 1.0 / 65536};
  const Pose pose = choose_pose({}, solid, printer);
  const Mesh print = in_print_frame(solid, pose);
  CHECK(exact_lattice(print));
  for (std::size_t i = 0; i < solid.vertices.size(); ++i)
    CHECK(apply(pose.print_to_part, print.vertices[i]) == solid.vertices[i]);
  for (int i : {0, 1, 2, 4, 5, 6, 8, 9, 10}) {
    const double m = pose.print_to_part.m[i];
    CHECK((m == 0 || m == 1 || m == -1));
  }
}

TEST_CASE("a part that is too long for the bed one way is turned", "[pose]") {
  PrinterProfile narrow = printer;
  narrow.bed_mm = {100, 220, 200};
  const Mesh solid = box({-80, -20, 0}, {80, 20, 5});
  const Box b = bounding_box(in_print_frame(solid, choose_pose({}, solid, narrow)));
  CHECK(b.high.y - b.low.y == 160);
}

TEST_CASE("the pose is the same whatever order the facets have", "[pose]") {
  Mesh solid = plate_on_legs(6, 0.5);
  const Pose before = choose_pose({}, solid, printer);
  std::reverse(solid.triangles.begin(), solid.triangles.end());
  CHECK(choose_pose({}, solid, printer).print_to_part.m == before.print_to_part.m);
}
