// A bed map taken apart: offset, tilt, twist, bow, residual; and the least range that a set of shapes can leave.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "survey/bed_map.h"

namespace bedwright {

/// Least squares by orthogonal factorisation with scaled columns. Agrees with certified values of badly scaled data
/// (quadratic in x up to 3e6) to 9 digits.
struct TermFit {
  std::vector<double> coefficients, standard_errors;  ///< errors 0 where no degree of freedom is left
  double residual_sd = 0;                             ///< sqrt(sum of squares / degrees of freedom)
  double rms = 0;                                     ///< sqrt(sum of squares / points)
  bool full_rank = true;
};

/// `columns[k][i]`: the k-th term at the i-th point. Throws Error for fewer points than terms.
TermFit fit_terms(const std::vector<std::vector<double>>& columns, const std::vector<double>& values);

/// A part of the map: its size over the bed and the standard uncertainty, micrometres.
struct MapTerm {
  double um = 0, u_um = 0;
  bool known = false;  ///< the map has points enough for it
};

/// With u = 2 x / width, v = 2 y / depth about the bed's centre:
/// z = offset + tilt_x u/2 + tilt_y v/2 + twist uv + bow_x u^2 + bow_y v^2.
/// tilt: rise from the left edge to the right one, from front to rear. twist: (z++ + z-- - z+- - z-+)/4 at the bed's
/// corners. bow: how much higher the edges stand than the middle. offset: height at the middle.
struct MapSplit {
  MapTerm offset, tilt_x, tilt_y, twist, bow_x, bow_y;
  double residual_rms_um = 0, residual_max_um = 0;
};

/// Bed centred on the machine's origin. Uncertainties from what the fit leaves (the noise, if that is more).
/// Throws BadInput for fewer than three points or points in one line.
MapSplit split_map(const HeightMap& map, Vec2 bed_mm, const std::string& source);

/// The least range that z + any mix of the columns and a constant can have: minimum zone, by linear programming
/// (exact up to rounding). Linear in the points times the steps taken, usually a few dozen.
double least_range(const std::vector<double>& z, const std::vector<std::vector<double>>& columns);

}  // namespace bedwright
