// Planar patches and round walls to features. Private to the gauge.
#pragma once

#include "gauge/gauge.h"
#include "gauge/patches.h"
#include "gauge/topology.h"

namespace bedwright {

/// The patches of facets that are turned outward. Order: kind, then z, y, x of `at`, then the first facet.
std::vector<MeasuredFeature> segmented(const Mesh& mesh, const Topology& topology, const Patches& patches);

}  // namespace bedwright
