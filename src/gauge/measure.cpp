#include <algorithm>
#include <array>
#include <numeric>
#include <utility>

#include "gauge/crossing.h"
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

constexpr std::size_t most_crossings = 100000;  // counting on tells nobody more
constexpr std::size_t crossing_shares = 4;      // of the search, so that what goes on beside it is evened out

}  // namespace

Measurement measure_apart(const Mesh& soup, const AtOnce& at_once) {
  Measurement m;
  m.mesh = welded(soup, at_once);
  EdgeBuckets buckets;
  std::vector<Facing> facings;
  at_once({[&] { buckets = edge_buckets(m.mesh); },
           [&] {
             facings = facings_of(m.mesh);
             m.area_mm2 = area(facings);
           }});
  Topology topology = topology_of(m.mesh, std::move(buckets), at_once);
  Sheets sheets;
  Patches patches;
  at_once({[&] { patches = patches_of(m.mesh, topology, facings); },
           [&] { sheets = sheets_of(m.mesh, topology, facings); }});
  Suspects suspects;
  Shells shells;
  at_once({[&] { suspects = suspects_of(m.mesh, sheets, most_crossings); },
           [&] {
             shells = shells_of(m.mesh, topology, sheets);
             m.health = health_of(m.mesh, topology, facings, shells);
             m.box = bounding_box(m.mesh);
             m.volume_mm3 = volume(m.mesh);
           }});
  std::array<std::size_t, crossing_shares> found{}, questions{};
  questions.fill(suspects.questions / crossing_shares);
  std::vector<Task> tasks = {[&] { m.features = segmented(m.mesh, topology, patches); }};
  for (std::size_t i = 0; i < crossing_shares; ++i)
    tasks.push_back([&, i] {
      const std::size_t pairs = suspects.pairs.size();
      found[i] = crossing_among(m.mesh, sheets, suspects, i * pairs / crossing_shares,
                                (i + 1) * pairs / crossing_shares, most_crossings, questions[i])
                     .size();
    });
  at_once(tasks);
  const std::size_t crossings = std::accumulate(found.begin(), found.end(), suspects.found.size());
  m.health.self_intersections = static_cast<int>(std::min(most_crossings, crossings));
  m.health.all_asked = m.health.all_asked && *std::min_element(questions.begin(), questions.end()) > 0;
  if (std::find(shells.turned.begin(), shells.turned.end(), 1) == shells.turned.end()) return m;
  // What bounds the material the other way round is measured again.
  m.mesh = outward(m.mesh, shells.turned);
  topology = topology_of(m.mesh);
  m.features = segmented(m.mesh, topology, patches_of(m.mesh, topology, facings_of(m.mesh)));
  return m;
}

Measurement measure(const Mesh& soup) {
  return measure_apart(soup, one_by_one);
}

MeshHealth inspect(const Mesh& soup) {
  const Mesh mesh = welded(soup);
  const Topology topology = topology_of(mesh);
  const std::vector<Facing> facings = facings_of(mesh);
  const Sheets sheets = sheets_of(mesh, topology, facings);
  MeshHealth health = health_of(mesh, topology, facings, shells_of(mesh, topology, sheets));
  const Crossings crossings = crossing_facets(mesh, sheets, most_crossings);
  health.self_intersections = static_cast<int>(crossings.pairs.size());
  health.all_asked = health.all_asked && crossings.all_asked;
  return health;
}

}  // namespace bedwright
