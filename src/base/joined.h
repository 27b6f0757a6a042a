// Things joined two by two, by number: which ones hang together. Each set goes by its least number.
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

namespace bedwright {

/// `parent` begins as 0, 1, 2, ...; R. E. Tarjan, J. van Leeuwen, Worst-case analysis of set union algorithms, 1984
/// (halving).
inline std::uint32_t root_of(std::vector<std::uint32_t>& parent, std::uint32_t i) {
  while (parent[i] != i) i = parent[i] = parent[parent[i]];
  return i;
}

inline void join(std::vector<std::uint32_t>& parent, std::uint32_t a, std::uint32_t b) {
  a = root_of(parent, a);
  b = root_of(parent, b);
  parent[std::max(a, b)] = std::min(a, b);
}

}  // namespace bedwright
