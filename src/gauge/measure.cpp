#include <algorithm>

#include "gauge/gauge.h"
#include "gauge/health.h"
#include "gauge/segment.h"

namespace bedwright {

Measurement measure(const Mesh& soup) {
  Measurement m;
  m.mesh = welded(soup);
  Topology topology = topology_of(m.mesh);
  const Shells shells = shells_of(m.mesh, topology);
  m.health = health_of(m.mesh, topology, shells);
  m.volume_mm3 = volume(m.mesh);
  m.area_mm2 = area(m.mesh);
  m.box = bounding_box(m.mesh);
  bool any = false;
  for (std::size_t f = 0; f < m.mesh.triangles.size(); ++f)
    if (shells.turned[f]) {
      std::swap(m.mesh.triangles[f][1], m.mesh.triangles[f][2]);
      any = true;
    }
  if (any) topology = topology_of(m.mesh);
  m.features = segmented(m.mesh, topology);
  return m;
}

}  // namespace bedwright
