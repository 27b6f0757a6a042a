// Which lengths screws come in, and how true to them they are.
#pragma once

#include <string>
#include <vector>

namespace bedwright {

struct StockLength {
  double mm = 0;
  int choice = 1;        ///< ISO 888: 1 first, 2 second
  bool at_hand = false;  ///< the kit's `stock` has it
};

/// Lengths of ISO 888 from the shortest that ISO 4762 lists for the thread, ascending, both choices.
std::vector<StockLength> standard_lengths(const std::string& thread);

/// Plus or minus of a nominal length: js15, as ISO 4762 has for product grade A (ISO 4759-1; grades of ISO 286-1,
/// from memory, agreeing with ISO 4762's printed limits: 8 is 7.71 to 8.29, 20 is 19.58 to 20.42).
double length_tolerance_mm(double length_mm);

}  // namespace bedwright
