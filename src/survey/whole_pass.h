// One look at millions of points: what surely belongs goes into sums, what a slightly better estimate may judge
// otherwise is kept apart. Sums of pieces of a fixed size are added in their order. Private to the survey.
#pragma once

#include <algorithm>
#include <vector>

#include "survey/cloud.h"
#include "survey/sphere_pass.h"

namespace bedwright {

inline constexpr std::size_t cells_across = 64;

/// Square cells over the points, seen from above; what lies outside counts to the cell at the border.
struct Grid {
  Grid(Vec3 low_corner, Vec3 high_corner)
      : low(low_corner),
        high(high_corner),
        per_x(static_cast<double>(cells_across) / std::max(high.x - low.x, 1e-12)),
        per_y(static_cast<double>(cells_across) / std::max(high.y - low.y, 1e-12)) {}
  Vec3 low, high;
  double per_x, per_y;  ///< cells in a millimetre
};

inline std::size_t cell_of(const Grid& grid, Vec3 p) {
  const auto along = [](double from_low, double per) {
    return static_cast<std::size_t>(std::min(std::max(from_low * per, 0.0), static_cast<double>(cells_across - 1)));
  };
  return along(p.y - grid.low.y, grid.per_y) * cells_across + along(p.x - grid.low.x, grid.per_x);
}

/// Sums over the points of a cell: places, distances from the sphere.
struct Cell {
  double n = 0, x = 0, y = 0, d = 0;
};

struct WholePass {
  PassSums sure;               ///< of the points within `sure_mm` of sphere and quadric together
  std::vector<Cell> cells;     ///< of the same points
  std::vector<Vec3> doubtful;  ///< farther off, but within `possible_mm`; in order
};

WholePass look_over(const Cloud& cloud, const Estimate& estimate, double sure_mm, double possible_mm, const Grid& grid,
                    const AtOnce& at_once = one_by_one);

}  // namespace bedwright
