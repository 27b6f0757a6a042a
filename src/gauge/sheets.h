// A mesh in sheets: facets joined over their edges that all look to one side of the file. Most need no search for
// facets that cross each other. Private to the gauge. Deterministic.
#pragma once

#include <cstdint>
#include <vector>

#include "gauge/facing.h"
#include "gauge/topology.h"

namespace bedwright {

struct Sheets {
  std::vector<std::uint32_t> facets;  ///< those with area, sheet by sheet
  std::vector<std::uint32_t> first;   ///< where each sheet begins in `facets`, and its end
  std::vector<std::uint8_t>
      proven;  ///< per sheet: 1 where surely no two of its facets meet in more than what they share
  std::vector<std::uint32_t> of_facet;  ///< no_sheet: without area
  std::vector<std::uint32_t> joined;    ///< per sheet: the first of all that hang together with it over edges
};

inline constexpr std::uint32_t no_sheet = no_edge;

/// Of a welded mesh: equal places are one vertex. Cost: linear, and n log n in the edges of the sheets' borders.
///
/// Proof. Seen along a sheet's axis all of its facets turn the same way, say left. Over any point then lie as many of
/// them as the sheet's border winds about it: edges within cancel. Where no two edges of the border meet but in common
/// corners, it falls into simple cycles; if just one of these turns left, it winds about no point more than once, so no
/// two facets lie over each other but with their own borders. There they cannot meet either: an edge within, or a
/// corner with facets all around it, has its whole surroundings covered by the facets that share it.
Sheets sheets_of(const Mesh& welded, const Topology& topology, const std::vector<Facing>& facings);

}  // namespace bedwright
