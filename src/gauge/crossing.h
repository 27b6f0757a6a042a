// Facets that pass through each other. Private to the gauge.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "gauge/sheets.h"

namespace bedwright {

/// Whether two facets (by number) meet in more than the vertices or the edge they share: they cross, touch at a point
/// that is no common vertex, or overlap in one plane. Exact.
bool facets_cross(const Mesh& mesh, std::uint32_t f, std::uint32_t g);

/// All such pairs (lower number first, sorted), at most `most`, of a welded mesh. Facets without area are left out.
/// Linear where whole sheets are proven (gauge/sheets.h), else n log n plus the pairs whose boxes overlap.
std::vector<std::pair<std::uint32_t, std::uint32_t>> crossing_facets(const Mesh& welded, const Sheets& sheets,
                                                                     std::size_t most);

}  // namespace bedwright
