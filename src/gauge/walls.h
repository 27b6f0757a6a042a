// Round walls to holes, bosses, slots and rounds. Private to the gauge.
#pragma once

#include <vector>

#include "gauge/cylinders.h"
#include "gauge/gauge.h"

namespace bedwright {

/// Everything the wall readers share.
struct Faces {
  const Mesh& mesh;
  const Topology& topology;
  const Patches& patches;
};

/// Features of the cylinders; slots' straight walls and cones' facets are marked in `taken`.
std::vector<MeasuredFeature> wall_features(const Faces& faces, std::vector<Cylinder> cylinders,
                                           std::vector<std::uint8_t>& taken);

}  // namespace bedwright
