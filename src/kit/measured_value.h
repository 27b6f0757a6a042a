// A number as a person types it at the machine: decimal comma or point, fraction, unit after it.
#pragma once

#include <string>

namespace bedwright {

enum class Quantity { length, mass, temperature, small_length };  ///< mm, g, degrees Celsius, um

const char* unit_name(Quantity quantity);  ///< "mm", "g", "C", "um"

struct MeasuredValue {
  bool ok = false;
  double value = 0;        ///< in unit_name(quantity), to 1e-4
  bool converted = false;  ///< another unit was typed
  std::string complaint;   ///< if not ok: one sentence
};

/// "150", "150,5", "15 cm", "5 7/8 in", "5.875\"", "0.15 m", "1.2 kg", "194 F". Lengths also take um; without a unit
/// the number is in unit_name(quantity). "1,250" is refused: it may mean either.
MeasuredValue parse_measured_value(const std::string& text, Quantity quantity);

}  // namespace bedwright
