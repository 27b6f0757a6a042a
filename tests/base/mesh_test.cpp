#include "base/mesh.h"

#include <catch2/catch.hpp>

#include "base/trig.h"

using namespace bedwright;

namespace {

using Ring = std::vector<Vec2>;

/// A right prism over a counter-clockwise, star-shaped ring with the origin in its kernel.
Mesh prism(const Ring& ring, double low, double high) {
  Mesh m;
  const auto n = static_cast<std::uint32_t>(ring.size());
  for (double z : {low, high})
    for (Vec2 p : ring) m.vertices.push_back({p.x, p.y, z});
  m.vertices.push_back({0, 0, low});
  m.vertices.push_back({0, 0, high});
  for (std::uint32_t i = 0; i < n; ++i) {
    const std::uint32_t j = (i + 1) % n;
    m.triangles.push_back({2 * n, j, i});
    m.triangles.push_back({2 * n + 1, n + i, n + j});
    m.triangles.push_back({i, j, n + j});
    m.triangles.push_back({i, n + j, n + i});
  }
  return m;
}

Mesh unit_cube() { return prism({{-0.5, -0.5}, {0.5, -0.5}, {0.5, 0.5}, {-0.5, 0.5}}, 0, 1); }

Ring regular_polygon(int n, double radius) {
  Ring ring;
  for (int i = 0; i < n; ++i)
    ring.push_back({radius * cos_rad(2 * pi * i / n), radius * sin_rad(2 * pi * i / n)});
  return ring;
}

}  // namespace

TEST_CASE("the unit cube has volume +1 and area 6", "[base][mesh]") {
  CHECK(volume(unit_cube()) == 1);
  CHECK(area(unit_cube()) == 6);
}

TEST_CASE("an inside-out cube has volume -1", "[base][mesh]") {
  Mesh m = unit_cube();
  for (auto& t : m.triangles) std::swap(t[1], t[2]);
  CHECK(volume(m) == -1);
  CHECK(area(m) == 6);
}

TEST_CASE("the corner tetrahedron has volume 1/6", "[base][mesh]") {
  const Mesh m{{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, {{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}}};
  CHECK(volume(m) == Approx(1.0 / 6).epsilon(1e-15));
  CHECK(area(m) == Approx(1.5 + std::sqrt(3.0) / 2).epsilon(1e-15));
}

TEST_CASE("a prism follows the polygon formula", "[base][mesh]") {
  // V = n/2 r^2 sin(2 pi / n) h, A = 2 base + 2 n r sin(pi / n) h: closed forms of the regular n-gon.
  for (int n : {3, 4, 6, 17, 360}) {
    const double r = 7.25, h = 3.5;
    const Mesh m = prism(regular_polygon(n, r), -1, -1 + h);
    const double base = n / 2.0 * r * r * std::sin(2 * pi / n);
    CHECK(volume(m) == Approx(base * h).epsilon(1e-13));
    CHECK(area(m) == Approx(2 * base + 2 * n * r * std::sin(pi / n) * h).epsilon(1e-13));
  }
}

TEST_CASE("volume is summed about the box's centre: far from the origin nothing is lost", "[base][mesh]") {
  const Mesh far = transformed(unit_cube(), shift({4096, -8192, 1024}));
  CHECK(volume(far) == 1);
}

TEST_CASE("turns keep volume, area and outside", "[base][mesh]") {
  const Mesh m = prism({{2, -1}, {3, 2}, {-1, 4}, {-2, -2}}, 0, 5);
  for (int axis = 0; axis < 3; ++axis)
    for (int quarter = 1; quarter < 4; ++quarter) {
      const Mesh turned = transformed(m, quarter_turn(axis, quarter));
      CHECK(volume(turned) == Approx(volume(m)).epsilon(1e-14));
      CHECK(area(turned) == Approx(area(m)).epsilon(1e-14));
    }
}

TEST_CASE("a mirror turns each facet, so that outside stays outside", "[base][mesh]") {
  const Mesh m = prism({{2, -1}, {3, 2}, {-1, 4}, {-2, -2}}, 0, 5);
  Transform mirror;
  mirror.m[0] = -1;
  const Mesh once = transformed(m, mirror), twice = transformed(once, mirror);
  CHECK(volume(once) == Approx(volume(m)).epsilon(1e-14));
  CHECK(twice.vertices == m.vertices);
  CHECK(twice.triangles == m.triangles);
}

TEST_CASE("the box holds every vertex and nothing more", "[base][mesh]") {
  const Box box = bounding_box(transformed(unit_cube(), shift({10, 20, -30})));
  CHECK(box.low == Vec3{9.5, 19.5, -30});
  CHECK(box.high == Vec3{10.5, 20.5, -29});
}

TEST_CASE("an empty mesh has no volume, no area and a null box", "[base][mesh]") {
  CHECK(volume(Mesh{}) == 0);
  CHECK(area(Mesh{}) == 0);
  CHECK(bounding_box(Mesh{}).high == Vec3{});
}
