// The wrong ways as the report prints them.
#pragma once

#include <string>
#include <vector>

#include "checks/wrong_ways.h"

namespace bedwright {

/// The report's `wrong_ways`: the fixed fields, and height change, place of the gap and what blocks.
Json wrong_ways_json(const std::vector<WrongWay>& ways);

struct ListedLine {
  std::string first, text;  ///< what the line begins with; what follows, to be wrapped
  std::size_t indent = 0;   ///< of its further lines
};
/// Those that bolt up one a line, those that do not gathered by what stops them and where.
std::vector<ListedLine> wrong_ways_lines(const Json& wrong_ways);

}  // namespace bedwright
