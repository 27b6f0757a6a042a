// Numbers to text and back as <charconv> does it, for standard libraries that have no <charconv> of floating point (a
// browser's). Where they have it, it is used; the other way is compiled everywhere, so that tests hold one to the
// other.
#pragma once

#include <string>
#include <string_view>
#include <system_error>

namespace bedwright {

struct ReadChars {
  std::size_t length = 0;  ///< what was read
  std::errc error{};       ///< invalid_argument: no number stands there; result_out_of_range: beyond a double
};

/// Decimal point, no white space, no plus, no hexadecimal; a value out of range leaves `value` as it was.
ReadChars read_chars(std::string_view text, double& value, bool with_exponent = true);
std::string fixed_chars(double value, int decimals);       ///< finite values
std::string scientific_chars(double value, int decimals);  ///< "1.23457e+02"
std::string shortest_chars(double value);                  ///< fixed or scientific, whichever is shorter; finite values

/// The same without <charconv>.
ReadChars read_chars_by_hand(std::string_view text, double& value, bool with_exponent = true);
std::string fixed_chars_by_hand(double value, int decimals);
std::string scientific_chars_by_hand(double value, int decimals);
std::string shortest_chars_by_hand(double value);

}  // namespace bedwright
