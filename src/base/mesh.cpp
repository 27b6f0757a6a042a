#include "base/mesh.h"

#include <algorithm>

namespace bedwright {

Box bounding_box(const Mesh& mesh) {
  if (mesh.vertices.empty()) return {};
  Box b{mesh.vertices[0], mesh.vertices[0]};
  for (const Vec3& v : mesh.vertices) {
    b.low = {std::min(b.low.x, v.x), std::min(b.low.y, v.y), std::min(b.low.z, v.z)};
    b.high = {std::max(b.high.x, v.x), std::max(b.high.y, v.y), std::max(b.high.z, v.z)};
  }
  return b;
}

double volume(const Mesh& mesh) {
  const Box box = bounding_box(mesh);
  const Vec3 centre = 0.5 * (box.low + box.high);
  double six = 0;
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.vertices[t[0]] - centre, b = mesh.vertices[t[1]] - centre,
               c = mesh.vertices[t[2]] - centre;
    six += dot(a, cross(b, c));
  }
  return six / 6.0;
}

double area(const Mesh& mesh) {
  double twice = 0;
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.vertices[t[0]];
    twice += length(cross(mesh.vertices[t[1]] - a, mesh.vertices[t[2]] - a));
  }
  return twice / 2.0;
}

Mesh transformed(const Mesh& mesh, const Transform& t) {
  Mesh r = mesh;
  for (Vec3& v : r.vertices) v = apply(t, v);
  if (determinant(t) < 0)
    for (auto& f : r.triangles) std::swap(f[1], f[2]);
  return r;
}

}  // namespace bedwright
