#include "gauge/facing.h"

#include "base/large_pages.h"

namespace bedwright {

std::vector<Facing> facings_of(const Mesh& mesh) {
  std::vector<Facing> facings;
  reserve_large(facings, mesh.triangles.size());
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.vertices[t[0]];
    const Vec3 vector = cross(mesh.vertices[t[1]] - a, mesh.vertices[t[2]] - a);
    facings.push_back({vector, length(vector)});
  }
  return facings;
}

}  // namespace bedwright
