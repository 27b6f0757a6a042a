// Facets that pass through each other. Private to the gauge.
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "gauge/blocks.h"

namespace bedwright {

using FacetPairs = std::vector<std::pair<std::uint32_t, std::uint32_t>>;

/// Blocks of facets whose boxes overlap, two by two: what is left to be asked one by one.
struct Suspects {
  Blocks blocks;
  FacetPairs pairs;           ///< of blocks
  FacetPairs found;           ///< facets that cross each other, as far as was asked already
  std::size_t questions = 0;  ///< that may still be asked; 0: the search was given up
};

inline constexpr std::size_t most_kept_pairs = 1'000'000;  // 8 MB
/// What one pair of facets counts, where a pair of boxes counts one (most_questions in base/close_pairs.h).
inline constexpr std::size_t facet_questions = 32;

/// Of a welded mesh. Facets without area are left out. Linear where whole sheets are proven (gauge/sheets.h), else n
/// log n plus the pairs whose boxes overlap. Where these are more than are `kept`, most of them are asked here; it ends
/// when `most` facets are found or no question is left.
Suspects suspects_of(const Mesh& welded, const Sheets& sheets, std::size_t most, std::size_t kept = most_kept_pairs);

/// Facets that cross each other, lower number first, among the suspects' pairs from `first` to `last`; ends when there
/// are `most`, or no question is left. Shares may be asked at once, each with its own questions.
FacetPairs crossing_among(const Mesh& welded, const Sheets& sheets, const Suspects& suspects, std::size_t first,
                          std::size_t last, std::size_t most, std::size_t& questions);

struct Crossings {
  FacetPairs pairs;  ///< lower number first, sorted
  bool all_asked = true;
};
/// All such pairs, at most `most`.
Crossings crossing_facets(const Mesh& welded, const Sheets& sheets, std::size_t most);

}  // namespace bedwright
