// Layout of a binary STL: 80 bytes, little-endian count, 50 bytes a facet (normal, three corners, attribute).
#include "output/write_stl.h"

#include <catch2/catch.hpp>
#include <cstdint>
#include <cstring>

#include "base/error.h"

using namespace bedwright;

namespace {

Mesh tetrahedron() {
  return {{{0, 0, 0}, {3, 0, 0}, {0, 4, 0}, {0, 0, 5}}, {{{0, 2, 1}}, {{0, 1, 3}}, {{1, 2, 3}}, {{2, 0, 3}}}};
}

std::uint32_t u32_at(const std::string& bytes, std::size_t at) {
  std::uint32_t v = 0;
  for (int i = 3; i >= 0; --i) v = v << 8 | static_cast<unsigned char>(bytes[at + i]);
  return v;
}

float float_at(const std::string& bytes, std::size_t at) {
  const std::uint32_t bits = u32_at(bytes, at);
  float f;
  std::memcpy(&f, &bits, 4);
  return f;
}

}  // namespace

TEST_CASE("an STL has the size and count that its facets ask for", "[stl]") {
  const std::string bytes = to_stl(tetrahedron(), "north-bench", "adapter-a", "A");
  CHECK(bytes.size() == 84 + 4 * 50);
  CHECK(u32_at(bytes, 80) == 4);
}

TEST_CASE("the header names kit, part and revision and is not the ASCII keyword", "[stl]") {
  CHECK(to_stl(tetrahedron(), "north-bench", "adapter-a", "A").substr(0, 38) ==
        "bedwright north-bench adapter-a rev A" + std::string(1, '\0'));
  CHECK(to_stl(tetrahedron(), "solid", "solid", "solid").compare(0, 5, "solid") != 0);
}

TEST_CASE("a header of more than 80 bytes is cut, the facets stay", "[stl]") {
  const std::string bytes = to_stl(tetrahedron(), std::string(48, 'k'), std::string(48, 'p'), "B");
  CHECK(bytes.substr(0, 80) == "bedwright " + std::string(48, 'k') + " " + std::string(21, 'p'));
  CHECK(u32_at(bytes, 80) == 4);
  CHECK(bytes.size() == 84 + 4 * 50);
}

TEST_CASE("normals point out and have unit length", "[stl]") {
  const std::string bytes = to_stl(tetrahedron(), "k", "p", "A");
  CHECK(float_at(bytes, 84 + 8) == -1.0f);
  // Face x/3 + y/4 + z/5 = 1: normal (20, 15, 12) / sqrt(769).
  CHECK(float_at(bytes, 84 + 100) == Approx(20 / std::sqrt(769.0)).epsilon(1e-7));
  CHECK(float_at(bytes, 84 + 104) == Approx(15 / std::sqrt(769.0)).epsilon(1e-7));
  CHECK(float_at(bytes, 84 + 108) == Approx(12 / std::sqrt(769.0)).epsilon(1e-7));
  CHECK(float_at(bytes, 84 + 112) == 3.0f);
}

// IEEE 754, least byte first: 3, 4 and 5 are 40400000, 40800000 and 40a00000, -1 is bf800000.
TEST_CASE("an STL's facets stand in the mesh's order, each its normal and three corners as x, y and z", "[stl]") {
  const std::string zero(4, '\0'), three("\0\0\x40\x40", 4), four("\0\0\x80\x40", 4), five("\0\0\xa0\x40", 4),
      minus("\0\0\x80\xbf", 4), attribute(2, '\0');
  const std::string origin = zero + zero + zero, x3 = three + zero + zero, y4 = zero + four + zero, z5 = zero + zero + five;
  const std::string down = zero + zero + minus, front = zero + minus + zero, left = minus + zero + zero;
  const std::string facets = to_stl(tetrahedron(), "k", "p", "A").substr(84);
  REQUIRE(facets.size() == 4 * 50);
  CHECK(facets.substr(0, 50) == down + origin + y4 + x3 + attribute);
  CHECK(facets.substr(50, 50) == front + origin + x3 + z5 + attribute);
  CHECK(facets.substr(100 + 12, 38) == x3 + y4 + z5 + attribute);
  CHECK(facets.substr(150, 50) == left + y4 + origin + z5 + attribute);
}

TEST_CASE("minus zero is written as zero", "[stl]") {
  Mesh mesh = tetrahedron();
  const std::string plain = to_stl(mesh, "k", "p", "A");
  for (Vec3& v : mesh.vertices) v = {v.x == 0 ? -0.0 : v.x, v.y == 0 ? -0.0 : v.y, v.z == 0 ? -0.0 : v.z};
  CHECK(to_stl(mesh, "k", "p", "A") == plain);
}

TEST_CASE("a coordinate that float32 cannot hold is refused", "[stl]") {
  Mesh mesh = tetrahedron();
  mesh.vertices[1].x = 0.1;
  CHECK_THROWS_AS(to_stl(mesh, "k", "p", "A"), Error);
  mesh.vertices[1].x = 100 + 1.0 / 65536;
  CHECK_NOTHROW(to_stl(mesh, "k", "p", "A"));
}
