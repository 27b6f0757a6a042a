// Which stretch of a row a triangle in plan may cover: what fills its cells looks at no others.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>

#include "base/vec.h"

namespace bedwright {

struct RowSpan {
  double low = 1e300, high = -1e300;  ///< low > high: the row passes by
};

/// All of the triangle at that y, to rounding (coordinates up to 1e4), and more where an edge lies along the row.
inline RowSpan row_span(const std::array<Vec2, 3>& corners, double y) {
  constexpr double along_row = 1e-6;  // edges that rise less are taken whole
  RowSpan span;
  for (std::size_t k = 0; k < 3; ++k) {
    const Vec2 a = corners[k], b = corners[k < 2 ? k + 1 : 0];
    const auto [low, high] = std::minmax(a.y, b.y);
    if (y < low - along_row || y > high + along_row) continue;
    const double rise = b.y - a.y;
    double x = a.x, other = b.x;
    if (std::fabs(rise) > along_row) x = other = a.x + std::clamp((y - a.y) / rise, 0.0, 1.0) * (b.x - a.x);
    span = {std::min({span.low, x, other}), std::max({span.high, x, other})};
  }
  return span;
}

}  // namespace bedwright
