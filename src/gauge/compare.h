// Holds a measured file against a part of a kit, and names the mistake if it is not that part.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "gauge/gauge.h"
#include "parts/part.h"

namespace bedwright {

struct MeasuredDimension {
  std::string feature, quantity;
  double nominal_mm = 0, modelled_mm = 0;
  std::optional<double> measured_mm;  ///< empty: could not be measured, so not reported
  double deviation_mm = 0;            ///< measured - modelled
  double tolerance_mm = 0;
  bool ok = false;
};

/// A part of the kit as the comparison needs it.
struct Candidate {
  const Part* part = nullptr;
  const Mesh* solid = nullptr;  ///< part frame
  Transform print_to_part;
};

struct Comparison {
  bool ok = false;
  std::vector<std::string> mistakes;  ///< codes of design 6.3, the most telling first
  std::vector<std::string> words;     ///< a sentence for each
  std::vector<MeasuredDimension> dimensions;
};

/// `expected` is the part the file should be; `others` the rest of the kit (for wrong-part).
Comparison compare(const Measurement& measured, const Candidate& expected, const std::vector<Candidate>& others);

}  // namespace bedwright
