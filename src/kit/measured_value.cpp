#include "kit/measured_value.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/chars.h"
#include "base/numbers.h"

namespace bedwright {

namespace {

struct Unit {
  const char* name;
  double factor;
  double offset = 0;  // value = (number + offset) * factor
};

// The inch is 25.4 mm exactly (international inch, 1959).
const std::vector<Unit>& units(Quantity quantity) {
  static const std::vector<Unit> length = {{"mm", 1},      {"cm", 10},          {"m", 1000},  {"in", 25.4},
                                           {"inch", 25.4}, {"inches", 25.4},    {"\"", 25.4}, {"''", 25.4},
                                           {"um", 0.001},  {"\xc2\xb5m", 0.001}};
  static const std::vector<Unit> small = {{"um", 1}, {"\xc2\xb5m", 1}, {"mm", 1000}, {"in", 25400}, {"\"", 25400}};
  static const std::vector<Unit> mass = {{"g", 1}, {"kg", 1000}};
  static const std::vector<Unit> temperature = {{"c", 1},
                                                {"\xc2\xb0"
                                                 "c",
                                                 1},
                                                {"f", 5.0 / 9.0, -32},
                                                {"\xc2\xb0"
                                                 "f",
                                                 5.0 / 9.0, -32}};
  switch (quantity) {
    case Quantity::length:
      return length;
    case Quantity::small_length:
      return small;
    case Quantity::mass:
      return mass;
    case Quantity::temperature:
      return temperature;
  }
  return length;
}

std::string cleaned(const std::string& text) {
  std::string result;
  for (char c : text) {
    if (c == '\t' || c == '\r') c = ' ';
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c == ' ' && (result.empty() || result.back() == ' ')) continue;
    result += c;
  }
  while (!result.empty() && result.back() == ' ') result.pop_back();
  return result;
}

bool read_number(const std::string& text, double& value) {
  const char* first = text.data();
  const char* last = first + text.size();
  if (first != last && *first == '+') ++first;
  const std::string_view number(first, static_cast<std::size_t>(last - first));
  const ReadChars result = read_chars(number, value, false);
  return result.error == std::errc() && result.length == number.size() && std::isfinite(value);
}

/// "5", "7/8", "5 7/8".
bool read_amount(const std::string& text, double& value) {
  const std::size_t slash = text.find('/');
  if (slash == std::string::npos) return read_number(text, value);
  const std::size_t space = text.rfind(' ', slash);
  double whole = 0, above = 0, below = 0;
  if (space != std::string::npos && !read_number(text.substr(0, space), whole)) return false;
  const std::size_t start = space == std::string::npos ? 0 : space + 1;
  if (!read_number(text.substr(start, slash - start), above) || !read_number(text.substr(slash + 1), below))
    return false;
  if (below <= 0 || (space != std::string::npos && above < 0)) return false;
  value = whole < 0 ? whole - above / below : whole + above / below;
  return true;
}

/// A single comma with exactly three digits behind and something other than 0 before it.
bool comma_may_be_thousands(const std::string& number) {
  const std::size_t comma = number.find(',');
  if (comma == std::string::npos || number.size() - comma != 4) return false;
  const std::string before = number.substr(0, comma);
  return before != "0" && before != "-0" && !before.empty();
}

std::string unit_list(Quantity quantity) {
  switch (quantity) {
    case Quantity::length:
      return "mm, cm, m, in or \"";
    case Quantity::small_length:
      return "um, mm or in";
    case Quantity::mass:
      return "g or kg";
    case Quantity::temperature:
      return "C or F";
  }
  return "";
}

MeasuredValue refused(std::string complaint) {
  MeasuredValue result;
  result.complaint = std::move(complaint);
  return result;
}

}  // namespace

const char* unit_name(Quantity quantity) {
  switch (quantity) {
    case Quantity::length:
      return "mm";
    case Quantity::small_length:
      return "um";
    case Quantity::mass:
      return "g";
    case Quantity::temperature:
      return "C";
  }
  return "";
}

MeasuredValue parse_measured_value(const std::string& text, Quantity quantity) {
  const std::string line = cleaned(text);
  const std::size_t end = line.find_last_of("0123456789.,");
  if (end == std::string::npos) return refused("\"" + text + "\" is not a number.");
  std::string number = line.substr(0, end + 1);
  std::string unit = line.substr(end + 1);
  unit.erase(0, unit.find_first_not_of(' '));
  if (unit.empty()) unit = cleaned(unit_name(quantity));

  const auto& known = units(quantity);
  const auto found = std::find_if(known.begin(), known.end(), [&](const Unit& u) { return unit == u.name; });
  if (found == known.end()) {
    return refused("\"" + unit + "\" is no unit known here: write the number alone for " + unit_name(quantity) +
                   ", or " + unit_list(quantity) + " after it.");
  }
  if (comma_may_be_thousands(number)) {
    std::string joined = number, pointed = number;
    joined.erase(joined.find(','), 1);
    pointed[pointed.find(',')] = '.';
    return refused(number + " may mean " + joined + " or " + pointed + ": write it one of these ways.");
  }
  if (std::count(number.begin(), number.end(), ',') == 1 && number.find('.') == std::string::npos) {
    number[number.find(',')] = '.';
  }
  double amount = 0;
  if (!read_amount(number, amount)) return refused("\"" + text + "\" is not a number.");
  MeasuredValue result;
  result.ok = true;
  result.value = rounded_length((amount + found->offset) * found->factor);
  result.converted = found->factor != 1;
  return result;
}

}  // namespace bedwright
