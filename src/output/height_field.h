// Heights between the points of a bed map.
#pragma once

#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Sorted, values nearer than 0.01 mm to each other once.
std::vector<double> distinct_places(std::vector<double> values);

/// Bilinear over a full grid, else weighted by the inverse fourth power of the distance. In z's unit; a copy of neither
/// list is kept: both must outlive it.
class HeightField {
 public:
  HeightField(const std::vector<Vec2>& at, const std::vector<double>& z);
  double operator()(Vec2 p) const;

 private:
  const std::vector<Vec2>& at_;
  const std::vector<double>& z_;
  std::vector<double> x_, y_, grid_;
  bool gridded_ = false;
};

}  // namespace bedwright
