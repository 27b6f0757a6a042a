// One look at millions of points: what surely belongs goes into sums, what a slightly better estimate may judge
// otherwise is kept apart. Sums of pieces of a fixed size are added in their order. Private to the survey.
#pragma once

#include <vector>

#include "survey/cloud.h"
#include "survey/sphere_pass.h"

namespace bedwright {

inline constexpr std::size_t cells_across = 64;

/// Square cells over the points, seen from above; what lies outside counts to the cell at the border.
struct Grid {
  Vec3 low{}, high{};
};
std::size_t cell_of(const Grid& grid, Vec3 p);

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
