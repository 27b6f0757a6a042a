// One figure of the arithmetic: with the formula it comes from, that formula's source, and where it stops being good.
#pragma once

#include <string>
#include <vector>

namespace bedwright {

struct Figure {
  std::string id;       ///< words with hyphens
  std::string what;     ///< for a person
  double value = 0;
  std::string unit;
  std::string formula;  ///< in plain characters
  std::string source;
  std::string range;    ///< what it is good for
  bool in_range = true;
};

}  // namespace bedwright
