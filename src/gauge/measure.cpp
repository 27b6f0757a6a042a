#include <algorithm>

#include "gauge/gauge.h"
#include "gauge/health.h"
#include "gauge/measure_apart.h"
#include "gauge/segment.h"

namespace bedwright {
namespace {

/// The mesh with every facet turned outward.
Mesh outward(const Mesh& mesh, const std::vector<std::uint8_t>& turned) {
  Mesh out = mesh;
  for (std::size_t f = 0; f < out.triangles.size(); ++f)
    if (turned[f]) std::swap(out.triangles[f][1], out.triangles[f][2]);
  return out;
}

}  // namespace

Measurement measure_apart(const Mesh& soup, const std::function<void(const Task&, const Task&)>& both) {
  Measurement m;
  m.mesh = welded(soup);
  const Topology topology = topology_of(m.mesh);
  const Shells shells = shells_of(m.mesh, topology);
  m.volume_mm3 = volume(m.mesh);
  m.area_mm2 = area(m.mesh);
  m.box = bounding_box(m.mesh);
  const bool any = std::find(shells.turned.begin(), shells.turned.end(), 1) != shells.turned.end();
  Mesh turned;
  if (any) turned = outward(m.mesh, shells.turned);
  both([&] { m.health = health_of(m.mesh, topology, shells); },
       [&] { m.features = any ? segmented(turned, topology_of(turned)) : segmented(m.mesh, topology); });
  if (any) m.mesh = std::move(turned);
  return m;
}

Measurement measure(const Mesh& soup) {
  return measure_apart(soup, [](const Task& one, const Task& other) {
    one();
    other();
  });
}

}  // namespace bedwright
