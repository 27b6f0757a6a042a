// Changes one value in the text of a JSON file and leaves every other byte as its owner wrote it.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

namespace bedwright {

/// The text with `value` at the JSON pointer (RFC 6901): replaced where there is one, else put in after the last member
/// of its object or the last element of its list ("-", or the index one past the end). Objects missing on the way are
/// made. What is put in follows the text around it: its line ends, its indentation, one line where the object around it
/// is on one line or where the value fits into 120 columns. A key that stands twice: the last one counts, as for a
/// reader. The text must be JSON, with or without a byte order mark. Throws Error if it is not, if the pointer is none,
/// or if it leads through a number, text or list where it cannot.
std::string with_value_at(const std::string& text, const std::string& pointer, const nlohmann::ordered_json& value);

}  // namespace bedwright
