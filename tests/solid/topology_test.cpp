#include "solid/topology.h"

#include <catch2/catch.hpp>

#include "sketch.h"
#include "solid/build.h"

using namespace sketch;

namespace {
Mesh good() { return build_solid(part({add("body", rectangle(0, 0, 20, 20), 0, 5), through("h", hole(0, 0, 6))})); }
}  // namespace

TEST_CASE("topology: a good mesh has no defect, and each kind of damage is named") {
  CHECK(!find_defect(good(), 0.01));
  SECTION("a missing facet") {
    Mesh m = good();
    m.triangles.pop_back();
    CHECK(find_defect(m, 0.01)->code == "not-closed");
  }
  SECTION("a flipped facet") {
    Mesh m = good();
    std::swap(m.triangles[7][0], m.triangles[7][1]);
    CHECK(find_defect(m, 0.01)->code == "touching-edge");
  }
  SECTION("a doubled facet") {
    Mesh m = good();
    m.triangles.push_back(m.triangles[0]);
    CHECK(find_defect(m, 0.01)->code == "touching-edge");
  }
  SECTION("a second body") {
    Mesh m = good(), other = good();
    const auto shift_ids = static_cast<std::uint32_t>(m.vertices.size());
    for (Vec3& v : other.vertices) v.x += 50;
    m.vertices.insert(m.vertices.end(), other.vertices.begin(), other.vertices.end());
    for (auto t : other.triangles) m.triangles.push_back({t[0] + shift_ids, t[1] + shift_ids, t[2] + shift_ids});
    CHECK(find_defect(m, 0.01)->code == "pieces");
    CHECK(find_defect(m, 0.01)->value == 2);
  }
  SECTION("two bodies that share one vertex") {
    Mesh m;
    m.vertices = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}, {-1, 0, 0}, {0, -1, 0}, {0, 0, -1}};
    const auto tetra = [&](std::uint32_t a, std::uint32_t b, std::uint32_t c, std::uint32_t d) {
      m.triangles.insert(m.triangles.end(), {{a, c, b}, {a, b, d}, {b, c, d}, {c, a, d}});
    };
    tetra(0, 1, 2, 3);
    tetra(0, 5, 4, 6);
    CHECK(find_defect(m, 0.001)->code == "touching-vertex");
  }
  SECTION("a sliver") {
    Mesh m = good();
    CHECK(find_defect(m, 10)->code == "sliver");
  }
}
