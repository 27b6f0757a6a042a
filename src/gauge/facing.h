// Which way the facets of a mesh face, and how large they are. Private to the gauge.
#pragma once

#include <vector>

#include "base/mesh.h"

namespace bedwright {

struct Facing {
  Vec3 vector{};  ///< outward as the corners run; its length is twice the area
  double twice_area = 0;
};

std::vector<Facing> facings_of(const Mesh& mesh);

/// Of all of them; to the bit what `area` gives of the mesh.
inline double area(const std::vector<Facing>& facings) {
  double twice = 0;
  for (const Facing& f : facings) twice += f.twice_area;
  return twice / 2;
}

inline bool is_null(const Vec3& v) {
  return v.x == 0 && v.y == 0 && v.z == 0;
}

}  // namespace bedwright
