// Which of many boxes overlap, where whole groups of them need not be asked among themselves.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <vector>

#include "base/float_box.h"

namespace bedwright {

/// What a search over facets may ask before it is given up, so that one in a file of slivers that lie in each other's
/// boxes ends too. The demo kits' parts ask up to 190 a facet.
inline std::size_t most_questions(std::size_t facets) {
  return 50'000'000 + 1000 * facets;
}

struct Boxed {
  FloatBox box;
  std::uint32_t what = 0;
};

/// Group g: items[first[g]] up to items[first[g + 1]], not none; `first` ends with the number of items.
struct BoxedGroups {
  std::vector<Boxed> items;
  std::vector<std::uint32_t> first;
  std::vector<std::uint8_t> apart;  ///< per group: 1 where no two of it are wanted
};

/// Calls visit(a, b) once for every two items whose boxes overlap or touch, but for those of one group that is apart,
/// until it returns false. Deterministic. A tree over the boxes is built as far as the search goes, so what lies in the
/// middle of a group costs next to nothing.
void for_each_close_pair(BoxedGroups groups, const std::function<bool(std::uint32_t, std::uint32_t)>& visit);

}  // namespace bedwright
