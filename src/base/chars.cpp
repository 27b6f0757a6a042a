#include "base/chars.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>

namespace bedwright {
namespace {

// The largest double has 309 digits before the point; nobody asks for more than 20 behind it.
constexpr std::size_t longest_number = 400;

bool digit_at(std::string_view text, std::size_t at) {
  return at < text.size() && text[at] >= '0' && text[at] <= '9';
}

std::size_t past_digits(std::string_view text, std::size_t at) {
  while (digit_at(text, at)) ++at;
  return at;
}

std::string printed(const char* format, int decimals, double value) {
  char text[longest_number];
  const int length = std::snprintf(text, sizeof text, format, decimals, value);
  return std::string(text, static_cast<std::size_t>(length));
}

}  // namespace

ReadChars read_chars_by_hand(std::string_view text, double& value, bool with_exponent) {
  const std::size_t start = !text.empty() && text[0] == '-' ? 1 : 0;
  std::size_t end = past_digits(text, start);
  bool any = end > start;
  if (end < text.size() && text[end] == '.' && (any || digit_at(text, end + 1))) {
    const std::size_t point = end;
    end = past_digits(text, end + 1);
    any = any || end > point + 1;
  }
  if (!any) return {0, std::errc::invalid_argument};
  if (with_exponent && end < text.size() && (text[end] == 'e' || text[end] == 'E')) {
    const std::size_t sign = end + 1 < text.size() && (text[end + 1] == '-' || text[end + 1] == '+') ? 1 : 0;
    if (digit_at(text, end + 1 + sign)) end = past_digits(text, end + 1 + sign);
  }
  const std::string number(text.substr(0, end));
  const double read = std::strtod(number.c_str(), nullptr);
  const bool nothing = number.find_first_of("123456789") >= std::min(number.find_first_of("eE"), number.size());
  if (std::isinf(read) || (read == 0 && !nothing)) return {end, std::errc::result_out_of_range};
  value = read;
  return {end, std::errc()};
}

std::string fixed_chars_by_hand(double value, int decimals) {
  return printed("%.*f", decimals, value);
}

std::string scientific_chars_by_hand(double value, int decimals) {
  return printed("%.*e", decimals, value);
}

std::string shortest_chars_by_hand(double value) {
  // The shortest digits that read back, and where their last one stands.
  const bool negative = std::signbit(value);
  std::string digits;
  int exponent = 0;
  bool behind = false;
  const std::string plain = fmt::format("{}", std::fabs(value));
  for (std::size_t i = 0; i < plain.size(); ++i) {
    if (plain[i] == 'e') {
      exponent += std::atoi(plain.c_str() + i + 1);
      break;
    }
    if (plain[i] == '.') {
      behind = true;
      continue;
    }
    digits += plain[i];
    if (behind) --exponent;
  }
  const std::size_t first = digits.find_first_not_of('0');
  if (first == std::string::npos) return negative ? "-0" : "0";
  digits.erase(0, first);
  while (digits.size() > 1 && digits.back() == '0') {
    digits.pop_back();
    ++exponent;
  }
  const int count = static_cast<int>(digits.size());
  // Where both are of one length, fixed: [charconv.to.chars].
  const int lower = count == 1 ? -3 : -(count + 3), upper = count == 1 ? 4 : 5;
  std::string out = negative ? "-" : "";
  if (exponent >= lower && exponent <= upper) {
    if (exponent >= 0) return out + fixed_chars_by_hand(std::fabs(value), 0);
    const int whole = count + exponent;
    if (whole > 0)
      return out + digits.substr(0, static_cast<std::size_t>(whole)) + "." +
             digits.substr(static_cast<std::size_t>(whole));
    return out + "0." + std::string(static_cast<std::size_t>(-whole), '0') + digits;
  }
  out += digits[0];
  if (count > 1) out += "." + digits.substr(1);
  const int power = exponent + count - 1;
  return out + (power < 0 ? "e-" : "e+") + (std::abs(power) < 10 ? "0" : "") + std::to_string(std::abs(power));
}

#ifdef __cpp_lib_to_chars

ReadChars read_chars(std::string_view text, double& value, bool with_exponent) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value,
                                            with_exponent ? std::chars_format::general : std::chars_format::fixed);
  return {static_cast<std::size_t>(end - text.data()), error};
}

std::string fixed_chars(double value, int decimals) {
  char text[longest_number];
  return std::string(text, std::to_chars(text, text + sizeof text, value, std::chars_format::fixed, decimals).ptr);
}

std::string scientific_chars(double value, int decimals) {
  char text[longest_number];
  return std::string(text, std::to_chars(text, text + sizeof text, value, std::chars_format::scientific, decimals).ptr);
}

std::string shortest_chars(double value) {
  char text[longest_number];
  return std::string(text, std::to_chars(text, text + sizeof text, value).ptr);
}

#else

ReadChars read_chars(std::string_view text, double& value, bool with_exponent) {
  return read_chars_by_hand(text, value, with_exponent);
}
std::string fixed_chars(double value, int decimals) {
  return fixed_chars_by_hand(value, decimals);
}
std::string scientific_chars(double value, int decimals) {
  return scientific_chars_by_hand(value, decimals);
}
std::string shortest_chars(double value) {
  return shortest_chars_by_hand(value);
}

#endif

}  // namespace bedwright
