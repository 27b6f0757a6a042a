// From what a caliper finds on a printed coupon to what must be added to drawings, each cause apart from the others.
// Model, mm: found - modelled = offset of its kind + scale * length. Kinds: holes (walls inward), outlines, heights (the
// first layer); scales: along x, y, z. Far and near walls of two holes carry the hole's offset with opposite signs, so
// diameter and spacing come apart; heights of several sizes part the first layer from proportion.
// Method: linear least squares (survey/least_squares.h); standard uncertainties from the residuals.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "print/coupon_sizes.h"

namespace bedwright {

struct CouponReading {
  CouponSize size;
  double found_mm = 0;
  int line = 0;  ///< of the table
};

struct CouponEstimate {
  double value = 0, u = 0;  ///< standard uncertainty; 0 where no reading was left over
  int rows = 0;             ///< readings that it follows from
};

struct CheckedReading {
  CouponReading reading;
  double off_mm = 0;  ///< found less what the fit expects
  bool doubtful = false;
};

struct Calibration {
  /// What to add to drawings, in place of what the coupon was printed with: the offsets with their signs turned.
  std::optional<CouponEstimate> hole_mm, outline_mm, height_mm;
  /// Parts longer than drawn by this share: for the printer to correct.
  std::optional<CouponEstimate> scale_x, scale_y, scale_z;
  double rms_plan_mm = 0, rms_height_mm = 0;  ///< of the residuals
  int freedom_plan = 0, freedom_height = 0;
  std::vector<CheckedReading> readings;  ///< in the order given
};

/// Quantities without a reading are left empty. Throws BadInput naming `source` where the readings cannot part two
/// causes, and says what else to measure.
Calibration calibrate(const std::vector<CouponReading>& readings, const std::string& source);

/// Whether a coupon that is said to be printed with `printed_with` looks as if it had been printed without: the
/// correction asked for would be that one twice.
bool would_correct_twice(double printed_with_mm, const std::optional<CouponEstimate>& result);

}  // namespace bedwright
