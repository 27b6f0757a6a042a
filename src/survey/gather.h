// First half of a survey of points: tells the sheet from what is not the sheet, and fits the sphere. Private to the
// survey.
#pragma once

#include <string>

#include "survey/cloud.h"
#include "survey/geometric_fit.h"
#include "survey/sphere_pass.h"
#include "survey/survey.h"

namespace bedwright {

struct Gathered {
  GeometricFit sphere;  ///< of all that was kept; model.origin and reach serve all later fits
  Estimate estimate;
  std::vector<std::size_t> columns;  ///< of the six terms, what the points can tell apart
  /// The kept points, or, of more than `most_single_points`, their means over cells; `sphere_off` is the distance of
  /// each from the sphere and `inner_squares` what the cells' means leave out.
  std::vector<WeightedPoint> samples;
  std::vector<double> sphere_off;
  double inner_squares = 0;
  double cut_sigmas = 1e9, cut_mm = 1e300;  ///< beyond it a point counted as an outlier
  std::size_t kept = 0, points = 0;
  Vec3 low{}, high{};
  Vec3 cells_low{}, cells_high{};  ///< the box that the cells part evenly; of single points the same box
  std::vector<Vec3> used, left_out;
  /// Of more than `most_single_points`: all kept points that stood off `looked_from` by more than `sure_mm`.
  Estimate looked_from;
  double sure_mm = 0;
  std::vector<Vec3> outermost;
};

/// What changes smoothly over millions of points is asked at the means of their cells; nowhere between does it change
/// by more than so many times the most found there.
inline constexpr double between_cells = 1.5;

/// Throws BadInput as survey_points does.
Gathered gather(const Cloud& cloud, const std::string& source, const AtOnce& at_once = one_by_one);

}  // namespace bedwright
