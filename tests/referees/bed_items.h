// One placed mesh as a referee reads it, printed as JSON.
#pragma once

#include <algorithm>
#include <array>
#include <cstdio>
#include <string>
#include <vector>

struct BedItem {
  std::string name, part_number;
  std::vector<std::array<double, 3>> points;
  std::vector<std::array<unsigned, 3>> facets;
};

inline void print_item(const BedItem& item, bool first) {
  std::array<double, 3> low{1e9, 1e9, 1e9}, high{-1e9, -1e9, -1e9};
  for (const auto& p : item.points)
    for (unsigned k = 0; k < 3; ++k) {
      low[k] = std::min(low[k], p[k]);
      high[k] = std::max(high[k], p[k]);
    }
  double six = 0;
  for (const auto& f : item.facets)
    for (unsigned k = 0; k < 3; ++k) {
      const unsigned l = (k + 1) % 3, m = (k + 2) % 3;
      const auto at = [&](unsigned i, unsigned axis) { return item.points[f[i]][axis] - (low[axis] + high[axis]) / 2; };
      six += at(0, k) * (at(1, l) * at(2, m) - at(1, m) * at(2, l));
    }
  std::printf(
      "%s{\"name\": \"%s\", \"part_number\": \"%s\", \"triangles\": %zu, \"volume_mm3\": %.17g, "
      "\"low\": [%.17g, %.17g, %.17g], \"high\": [%.17g, %.17g, %.17g]}",
      first ? "" : ",\n", item.name.c_str(), item.part_number.c_str(), item.facets.size(), six / 6, low[0], low[1],
      low[2], high[0], high[1], high[2]);
}
