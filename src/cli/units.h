// Units that a measured file may be in, as --units names them.
#pragma once

#include <string>
#include <vector>

#include "base/error.h"

namespace bedwright {

inline const std::vector<std::string> unit_names = {"mm", "cm", "m", "in", "ft"};

/// Millimetres in one of it (the inch is 25.4 mm exactly); 1 for "mm" and for none.
inline double mm_in(const std::string& unit) {
  return unit == "cm" ? 10 : unit == "m" ? 1000 : unit == "in" ? 25.4 : unit == "ft" ? 304.8 : 1;
}

/// What --units says (`asked`), else what the file's header says (`stated`), else "mm". Throws BadUsage where the two
/// differ.
inline std::string unit_of(const std::string& asked, const std::string& stated) {
  if (!asked.empty() && !stated.empty() && asked != stated)
    throw BadUsage("--units " + asked + ": the file's header says " + stated);
  return !asked.empty() ? asked : !stated.empty() ? stated : "mm";
}

}  // namespace bedwright
