#include "base/numbers.h"

#include <cmath>

#include "base/chars.h"

namespace bedwright {

double rounded_length(double mm) {
  if (!std::isfinite(mm)) return mm;
  // Beyond this a double has no fourth decimal left to round.
  if (std::fabs(mm) > 1e11) return mm;
  const double steps = std::round(mm / length_step_mm);
  // Both are whole numbers that a double holds, so their quotient is the double nearest to four decimals.
  return steps == 0 ? 0.0 : steps / 1e4;
}

double rounded_6(double value) {
  if (!std::isfinite(value)) return value;
  double rounded = 0;
  read_chars(scientific_chars(value, 5), rounded);
  return rounded == 0 ? 0.0 : rounded;
}

std::string decimal(double value, int decimals) {
  if (std::isnan(value)) return "nan";
  if (std::isinf(value)) return value > 0 ? "inf" : "-inf";
  std::string text = fixed_chars(value, decimals < 0 ? 0 : decimals > 20 ? 20 : decimals);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

std::string shortest(double value) {
  if (value == 0) return "0";
  return shortest_chars(value);
}

}  // namespace bedwright
