#include "output/write_stl.h"

#include <cstdint>
#include <cstring>
#include <limits>

#include "base/error.h"
#include "base/numbers.h"

namespace bedwright {
namespace {

constexpr std::size_t header_bytes = 80, facet_bytes = 50;

void put_u32(char* to, std::uint32_t v) {
  for (int i = 0; i < 4; ++i) to[i] = static_cast<char>(v >> (8 * i));
}

void put_float(char* to, double v) {
  // Adding zero turns -0 into +0, so that equal shapes have equal bytes.
  const float f = static_cast<float>(v) + 0.0f;
  std::uint32_t bits;
  std::memcpy(&bits, &f, sizeof bits);
  put_u32(to, bits);
}

char* put_point(char* to, Vec3 p) {
  put_float(to, p.x);
  put_float(to + 4, p.y);
  put_float(to + 8, p.z);
  return to + 12;
}

bool exact(double v) {
  return static_cast<double>(static_cast<float>(v)) == v;
}

Vec3 unit_normal(Vec3 a, Vec3 b, Vec3 c) {
  const Vec3 n = cross(b - a, c - a);
  const double size = length(n);
  return size > 0 ? (1.0 / size) * n : Vec3{};
}

}  // namespace

std::string to_stl(const Mesh& mesh, const std::string& kit, const std::string& part, const std::string& revision,
                   const std::string& mating_code) {
  if (mesh.triangles.size() > std::numeric_limits<std::uint32_t>::max())
    throw Error(part + ": too many facets for an STL file");
  for (const Vec3& v : mesh.vertices)
    if (!exact(v.x) || !exact(v.y) || !exact(v.z))
      throw Error(part + ": vertex (" + shortest(v.x) + ", " + shortest(v.y) + ", " + shortest(v.z) +
                  ") is not exact in float32");

  std::string bytes(header_bytes + 4 + facet_bytes * mesh.triangles.size(), '\0');
  // Starts with our own name, so a reader that looks for the ASCII keyword is never misled.
  std::string header = "bedwright " + kit + " " + part + " rev " + revision;
  const std::string mates = " mates " + mating_code;
  if (!mating_code.empty() && header.size() + mates.size() < header_bytes) header += mates;
  header.copy(bytes.data(), header_bytes);
  put_u32(bytes.data() + header_bytes, static_cast<std::uint32_t>(mesh.triangles.size()));
  char* to = bytes.data() + header_bytes + 4;
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.vertices.at(t[0]), b = mesh.vertices.at(t[1]), c = mesh.vertices.at(t[2]);
    to = put_point(to, unit_normal(a, b, c));
    to = put_point(to, a);
    to = put_point(to, b);
    to = put_point(to, c);
    to += 2;
  }
  return bytes;
}

}  // namespace bedwright
