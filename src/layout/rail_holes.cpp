#include "layout/rail_holes.h"

#include <cmath>

namespace bedwright {

RailHoles rail_holes(double length_mm, double pitch_mm, double least_mm) {
  if (!(pitch_mm > 0) || length_mm < 2 * least_mm) return {};
  // 1e-9: a length that is a whole number of pitches but for rounding.
  const int count = static_cast<int>(std::floor((length_mm - 2 * least_mm) / pitch_mm + 1e-9)) + 1;
  return {count, (length_mm - (count - 1) * pitch_mm) / 2};
}

std::vector<RailHoles> possible_rail_holes(double length_mm, double pitch_mm, double nearest_mm, double usual_mm) {
  std::vector<RailHoles> ways;
  const RailHoles most = rail_holes(length_mm, pitch_mm, nearest_mm), least = rail_holes(length_mm, pitch_mm, usual_mm);
  for (int n = most.count; n >= least.count && n > 0; --n) ways.push_back({n, (length_mm - (n - 1) * pitch_mm) / 2});
  return ways;
}

}  // namespace bedwright
