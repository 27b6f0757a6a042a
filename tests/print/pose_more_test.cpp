// What a pose is weighed by: overhang, bridges, support, steps on a seat, the side the air comes from, the kit's word.
#include <catch2/catch.hpp>
#include <array>
#include <cmath>

#include "base/trig.h"
#include "parts/features.h"
#include "print/pose.h"
#include "print/staircase.h"
#include "print/undersides.h"
#include "print/wedge.h"

using namespace bedwright;

namespace {

/// Grid of cubes of 1 mm: a solid from which cubes are left out. Faces between filled and empty cells only.
struct Voxels {
  int nx, ny, nz;
  std::vector<char> filled;
  Voxels(int x, int y, int z) : nx(x), ny(y), nz(z), filled(static_cast<std::size_t>(x * y * z), 0) {}
  bool at(int x, int y, int z) const {
    return x >= 0 && y >= 0 && z >= 0 && x < nx && y < ny && z < nz && filled[index(x, y, z)];
  }
  std::size_t index(int x, int y, int z) const { return static_cast<std::size_t>((z * ny + y) * nx + x); }
  void box(int x0, int x1, int y0, int y1, int z0, int z1, bool on = true) {
    for (int z = z0; z < z1; ++z)
      for (int y = y0; y < y1; ++y)
        for (int x = x0; x < x1; ++x) filled[index(x, y, z)] = on;
  }
  Mesh mesh() const {
    Mesh m;
    std::vector<std::int64_t> ids(static_cast<std::size_t>((nx + 1) * (ny + 1) * (nz + 1)), -1);
    const auto vertex = [&](int x, int y, int z) {
      std::int64_t& id = ids[static_cast<std::size_t>((z * (ny + 1) + y) * (nx + 1) + x)];
      if (id < 0) {
        id = static_cast<std::int64_t>(m.vertices.size());
        m.vertices.push_back({double(x), double(y), double(z)});
      }
      return static_cast<std::uint32_t>(id);
    };
    const int step[6][3] = {{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}};
    for (int z = 0; z < nz; ++z)
      for (int y = 0; y < ny; ++y)
        for (int x = 0; x < nx; ++x)
          if (at(x, y, z))
            for (const auto& s : step) {
              if (at(x + s[0], y + s[1], z + s[2])) continue;
              const int axis = s[0] ? 0 : s[1] ? 1 : 2, up = s[axis] > 0;
              int p[3] = {x, y, z};
              p[axis] += up;
              const int u = (axis + 1) % 3, v = (axis + 2) % 3;
              std::uint32_t c[4];
              const int du[4] = {0, 1, 1, 0}, dv[4] = {0, 0, 1, 1};
              for (int k = 0; k < 4; ++k) {
                int q[3] = {p[0], p[1], p[2]};
                q[u] += du[k];
                q[v] += dv[k];
                c[k] = vertex(q[0], q[1], q[2]);
              }
              if (up) {
                m.triangles.push_back({c[0], c[1], c[2]});
                m.triangles.push_back({c[0], c[2], c[3]});
              } else {
                m.triangles.push_back({c[0], c[2], c[1]});
                m.triangles.push_back({c[0], c[3], c[2]});
              }
            }
    return m;
  }
};

/// The known fixture: a block 40 x 20 x 20 with an arm that sticks out 12 mm at z = 14, a tunnel 8 wide and 6 high
/// right through along y, and a pocket from below, 14 x 14 and 5 deep.
Mesh fixture() {
  Voxels v(52, 20, 20);
  v.box(0, 40, 0, 20, 0, 20);
  v.box(40, 52, 0, 20, 14, 20);
  v.box(4, 12, 0, 20, 8, 14, false);
  v.box(20, 34, 3, 17, 0, 5, false);
  return v.mesh();
}

const Underside* at_height(const Undersides& u, double z) {
  for (const Underside& f : u.faces)
    if (std::fabs(f.low.z - z) < 1e-9 && std::fabs(f.high.z - z) < 1e-9) return &f;
  return nullptr;
}

const PrinterProfile printer;

}  // namespace

TEST_CASE("undersides: the list of a known fixture is complete, each with its area by hand", "[print]") {
  const Undersides u = undersides_of(fixture(), {});
  REQUIRE(u.faces.size() == 3);
  // The arm: 12 x 20, held along one side only.
  const Underside* arm = at_height(u, 14);
  REQUIRE(arm);
  CHECK(u.faces[0].low.z == 14);
  bool arm_seen = false, roof_seen = false;
  for (const Underside& f : u.faces) {
    if (f.low.x == 40) {
      arm_seen = true;
      CHECK(f.area_mm2 == Approx(240));
      CHECK(f.overhang_mm2 == Approx(240));
    }
    if (f.low.x == 4) {
      roof_seen = true;
      // The tunnel's roof: 8 x 20, walls 8 mm apart: bridges.
      CHECK(f.area_mm2 == Approx(160));
      CHECK(f.overhang_mm2 == 0);
      CHECK(f.bridge_mm == Approx(8));
    }
  }
  CHECK(arm_seen);
  CHECK(roof_seen);
  // The pocket's roof: 14 x 14, wider than a bridge of 10.
  const Underside* pocket = at_height(u, 5);
  REQUIRE(pocket);
  CHECK(pocket->overhang_mm2 == Approx(196));
  CHECK(u.overhang_mm2 == Approx(240 + 196));
  CHECK(u.bridge_mm2 == Approx(160));
  CHECK(u.bridge_mm == Approx(8));
  // Columns: under the arm 14 high, under the pocket's roof 5.
  CHECK(u.support_mm3 == Approx(240 * 14 + 196 * 5));
  CHECK(u.contact_mm2 == Approx(40 * 20 - 14 * 14));
}

TEST_CASE("undersides: what bridges depends on the printer", "[print]") {
  PrintWishes longer, shorter;
  longer.bridge_mm = 14.5;
  shorter.bridge_mm = 7.5;
  CHECK(undersides_of(fixture(), longer).overhang_mm2 == Approx(240));
  CHECK(undersides_of(fixture(), shorter).overhang_mm2 == Approx(240 + 196 + 160));
}

TEST_CASE("undersides: support stands on the part where the part is below", "[print]") {
  Voxels v(20, 20, 20);
  v.box(0, 20, 0, 20, 0, 6);
  v.box(0, 4, 0, 20, 6, 20);
  v.box(4, 20, 0, 20, 16, 20);
  const Undersides u = undersides_of(v.mesh(), {});
  CHECK(u.overhang_mm2 == Approx(320));
  CHECK(u.support_mm3 == Approx(320 * 10));
}

TEST_CASE("undersides: support under large slanted facets is area times height", "[print]") {
  // A slab 34 x 30 that sticks out of a post at z = 10: its profile, drawn out along y, in two triangles a face.
  const std::vector<Vec2> profile = {{0, 0}, {6, 0}, {6, 10}, {40, 10}, {40, 12}, {0, 12}};
  for (const double turned_deg : {0.0, 17.0, 30.0, 45.0, 80.0}) {
    CAPTURE(turned_deg);
    const Transform turn = turn_about_z(turned_deg * rad_per_deg);
    Mesh m;
    for (const double y : {0.0, 30.0})
      for (const Vec2 p : profile) m.vertices.push_back(apply(turn, {p.x, y, p.y}));
    for (std::uint32_t i = 0; i < 6; ++i) {
      const std::uint32_t k = (i + 1) % 6;
      m.triangles.push_back({i, i + 6, k});
      m.triangles.push_back({k, i + 6, k + 6});
    }
    for (const std::array<std::uint32_t, 3> t :
         {std::array<std::uint32_t, 3>{0, 1, 2}, {0, 2, 5}, {5, 2, 3}, {5, 3, 4}}) {
      m.triangles.push_back(t);
      m.triangles.push_back({t[0] + 6, t[2] + 6, t[1] + 6});
    }
    REQUIRE(volume(m) == Approx(30 * (6 * 12 + 34 * 2)));
    const Undersides u = undersides_of(m, {});
    CHECK(u.overhang_mm2 == Approx(34 * 30));
    // Columns of a square millimetre: of those on the border, half a column each at most is counted wrongly.
    CHECK(u.support_mm3 == Approx(34 * 30 * 10).margin(turned_deg == 0 ? 1e-6 : 10 * 0.5 * 2 * (34 + 30) / 4));
  }
}

TEST_CASE("undersides: the limit is an angle from vertical", "[print]") {
  // A wedge whose under face runs out 6 for 4 up: 56.3 degrees from vertical.
  PrintWishes wishes;
  CHECK(undersides_of(wedge(6), wishes).overhang_mm2 == Approx(20 * std::sqrt(36 + 16)));
  CHECK(undersides_of(wedge(6), wishes).facing.x > 0);
  wishes.overhang_deg = 60;
  CHECK(undersides_of(wedge(6), wishes).overhang_mm2 == 0);
}

TEST_CASE("staircase: a layered height is off by half a layer at most, and not at all on a whole one", "[print]") {
  const Layering l{0.3, 0.2};
  CHECK(step_error(0.3, l) == Approx(0).margin(1e-12));
  CHECK(step_error(0.9, l) == Approx(0).margin(1e-12));
  // Middles: 0.15, then 0.4, 0.6, ...
  CHECK(step_error(0.14, l) == Approx(-0.14));
  CHECK(step_error(0.16, l) == Approx(0.14));
  CHECK(step_error(0.399, l) == Approx(-0.099));
  CHECK(step_error(0.401, l) == Approx(0.099));
  const StepRange flat = step_errors(1.234, 1.234, l);
  CHECK(flat.least == flat.greatest);
  const StepRange across = step_errors(1.0, 1.5, l);
  CHECK(across.least == Approx(-0.1));
  CHECK(across.greatest == Approx(0.1));
  // Against a walk in small steps, over ranges of all kinds.
  for (double low = 0.02; low < 1; low += 0.037)
    for (double width = 0; width < 0.5; width += 0.041) {
      double least = 1e9, greatest = -1e9;
      for (int i = 0; i <= 5000; ++i) {
        const double e = step_error(low + width * i / 5000, l);
        least = std::min(least, e);
        greatest = std::max(greatest, e);
      }
      const StepRange range = step_errors(low, low + width, l);
      CAPTURE(low, width);
      // A walk may miss a jump by its own step.
      CHECK(range.least == Approx(least).margin(width / 5000 + 1e-9));
      CHECK(range.greatest == Approx(greatest).margin(width / 5000 + 1e-9));
    }
}

namespace {

/// A plate whose top is a cylinder's, 60 x 40, falling from 6 mm along y on both sides of the middle.
Mesh domed(double radius) {
  Mesh m;
  const int n = 40;
  for (int i = 0; i <= n; ++i) {
    const double y = -20 + 40.0 * i / n, top = 6 - (radius - std::sqrt(radius * radius - y * y));
    for (const double x : {-30.0, 30.0})
      for (const double z : {0.0, top}) m.vertices.push_back({x, y, z});
  }
  const auto quad = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c, std::uint32_t d) {
    m.triangles.push_back({a, b, c});
    m.triangles.push_back({a, c, d});
  };
  for (std::uint32_t i = 0; i < n; ++i) {
    const std::uint32_t k = 4 * i;  // left low, left top, right low, right top
    quad(k + 1, k + 3, k + 7, k + 5);
    quad(k, k + 4, k + 6, k + 2);
    quad(k, k + 1, k + 5, k + 4);
    quad(k + 2, k + 6, k + 7, k + 3);
  }
  quad(0, 2, 3, 1);
  quad(4 * n, 4 * n + 1, 4 * n + 3, 4 * n + 2);
  return m;
}

Part with_seat(double radius) {
  Part part;
  part.seat.shape = SurfaceShape::cylinder;
  part.seat.radius_x = radius;
  part.seat.local_x = {0, 1};
  part.seat.local_y = {-1, 0};
  part.seat.height = 6;
  Feature seat;
  seat.id = "seat";
  seat.kind = FeatureKind::seat;
  part.features.push_back(seat);
  return part;
}

}  // namespace

TEST_CASE("staircase: a shallow dome lying has steps of a whole layer, standing nearly none", "[print]") {
  const double radius = 600;  // falls by 0.333 mm over 20 mm
  const Mesh solid = domed(radius);
  const Part part = with_seat(radius);
  const Pose pose = choose_pose(part, solid, printer);
  REQUIRE(pose.tried.size() == 6);
  CHECK(pose.tried[0].staircase_mm == Approx(0.2).margin(1e-3));
  // On its front edge layers cut across the slope, which is 20 / 600 at most: a layer times that.
  const Weighed& standing = pose.tried[static_cast<std::size_t>(Way::on_front)];
  CHECK(standing.staircase_mm < 0.2 * 20 / 600 + 1e-9);
  CHECK(standing.staircase_mm > 0);
  // On its left edge every layer is the same section.
  CHECK(pose.tried[static_cast<std::size_t>(Way::on_left)].staircase_mm == Approx(0).margin(1e-9));
  CHECK(pose.way != Way::as_installed);
  CHECK_THAT(pose.why, Catch::Contains("steps of 0.2 mm"));
}

TEST_CASE("staircase: steps that are allowed turn nothing", "[print]") {
  PrinterProfile lenient = printer;
  lenient.wishes.seat_step_mm = 0.25;
  CHECK(choose_pose(with_seat(600), domed(600), lenient).way == Way::as_installed);
  PrinterProfile fine = printer;
  fine.layer_mm = 0.08;
  CHECK(choose_pose(with_seat(600), domed(600), fine).way == Way::as_installed);
}

TEST_CASE("staircase: a flat seat has none, wherever it lies between layers", "[print]") {
  Part part = with_seat(600);
  part.seat = {};
  part.seat.height = 6.07;
  Voxels v(30, 30, 1);
  v.box(0, 30, 0, 30, 0, 1);
  Mesh slab = v.mesh();
  for (Vec3& p : slab.vertices) p.z *= 6.07;
  CHECK(seat_facets(part, slab).size() == 2 * 900);
  CHECK(choose_pose(part, slab, printer).tried[0].staircase_mm == 0);
}

TEST_CASE("pose: the kit's word stands, and is said", "[print]") {
  Part part;
  part.settings = Json{{"pose", "on_left"}};
  Voxels v(40, 20, 6);
  v.box(0, 40, 0, 20, 0, 6);
  const Pose pose = choose_pose(part, v.mesh(), printer);
  CHECK(pose.by_kit);
  CHECK(pose.way == Way::on_left);
  CHECK(pose.height_mm == 40);
  CHECK_THAT(pose.why, Catch::Contains("the kit says so"));
  part.settings = Json{{"pose", "auto"}};
  CHECK_FALSE(choose_pose(part, v.mesh(), printer).by_kit);
}

TEST_CASE("pose: undersides are turned to where the cooling air comes from", "[print]") {
  Voxels v(60, 40, 30);
  v.box(0, 30, 0, 40, 0, 30);
  v.box(30, 60, 0, 40, 24, 30);
  const Mesh arm = v.mesh();
  Part part;
  part.settings = Json{{"pose", "as_installed"}};
  for (const auto& [side, wanted] :
       {std::pair<const char*, Vec2>{"front", {0, -1}}, {"rear", {0, 1}}, {"left", {-1, 0}}, {"right", {1, 0}}}) {
    PrinterProfile blown = printer;
    blown.wishes.cooling_from = side;
    const Pose pose = choose_pose(part, arm, blown);
    CAPTURE(side);
    CHECK(pose.turned_to_cooling);
    const Vec3 out = turn(inverse(pose.print_to_part), {1, 0, 0});
    CHECK(out.x == wanted.x);
    CHECK(out.y == wanted.y);
  }
  CHECK_FALSE(choose_pose(part, arm, printer).turned_to_cooling);
}
