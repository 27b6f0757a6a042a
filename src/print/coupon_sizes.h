// What a caliper finds on the fit coupon: every size with its drawn and its modelled value, in the order of measuring.
#pragma once

#include <string>
#include <vector>

#include "parts/part.h"

namespace bedwright {

struct CouponSize {
  enum class Kind { hole, spacing_far, spacing_near, outline, boss, height };
  std::string feature, quantity;  ///< "hole-2" "diameter", "spacing-1-2" "far walls", "boss-3" "over all", ...
  Kind kind = Kind::hole;
  char axis = 0;           ///< x, y: which way a spacing or outline is measured; 0: both ways, the mean
  double nominal_mm = 0;   ///< as the drawing wants it
  double modelled_mm = 0;  ///< as the printed file has it
  double length_mm = 0;    ///< that a scale error acts on
  std::string how;         ///< in words, for the sheet
};

/// From the coupon's own features; `part` must be derived with the compensation that the measured coupon was printed
/// with.
std::vector<CouponSize> coupon_sizes(const Part& part);

}  // namespace bedwright
