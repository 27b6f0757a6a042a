// Planar patches and round walls to features. Private to the gauge.
#pragma once

#include "gauge/facing.h"
#include "gauge/gauge.h"
#include "gauge/topology.h"

namespace bedwright {

/// Facets must be turned outward. Order: kind, then z, y, x of `at`, then the first facet.
std::vector<MeasuredFeature> segmented(const Mesh& mesh, const Topology& topology, const std::vector<Facing>& facings);

}  // namespace bedwright
