#include "base/numbers.h"

#include <charconv>
#include <cmath>

namespace bedwright {
namespace {

double read(const char* first, const char* last) {
  double value = 0;
  std::from_chars(first, last, value);
  return value == 0 ? 0.0 : value;
}

}  // namespace

double rounded_length(double mm) {
  if (!std::isfinite(mm)) return mm;
  // Beyond this a double has no fourth decimal left to round.
  if (std::fabs(mm) > 1e11) return mm;
  const double steps = std::round(mm / length_step_mm);
  // Read back from text, so that the value is the double nearest to four decimals and prints as four decimals.
  char text[64];
  const auto end = std::to_chars(text, text + sizeof text, steps / 1e4, std::chars_format::fixed, 4);
  return read(text, end.ptr);
}

double rounded_6(double value) {
  if (!std::isfinite(value)) return value;
  char text[64];
  const auto end = std::to_chars(text, text + sizeof text, value, std::chars_format::scientific, 5);
  return read(text, end.ptr);
}

std::string decimal(double value, int decimals) {
  if (std::isnan(value)) return "nan";
  if (std::isinf(value)) return value > 0 ? "inf" : "-inf";
  // The largest double has 309 digits before the point.
  char buffer[400];
  const int places = decimals < 0 ? 0 : decimals > 20 ? 20 : decimals;
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value, std::chars_format::fixed, places);
  std::string text(buffer, end.ptr);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text == "-0" ? "0" : text;
}

std::string shortest(double value) {
  if (value == 0) return "0";
  char text[64];
  const auto end = std::to_chars(text, text + sizeof text, value);
  return std::string(text, end.ptr);
}

}  // namespace bedwright
