// Points from files: tables of heights and scans. Numbers are as the file has them; units are the caller's.
// Bounded: no memory is taken on a header's word, 2 GiB of file and `most_scan_points` points at most.
#pragma once

#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

inline constexpr std::size_t most_scan_points = 10'000'000;

struct PointFile {
  std::vector<Vec3> points;
  std::string unit;         ///< from a table's header ("x_mm"): mm, cm, m, in, ft; empty where it says nothing
  std::size_t skipped = 0;  ///< scan points without finite coordinates
};

/// Columns x, y, z (by name where there is a header). Throws BadInput with line numbers.
PointFile points_of_table(const std::string& text, const std::string& source);
/// The same of a profile: columns x, y; z is 0.
PointFile profile_of_table(const std::string& text, const std::string& source);

/// STL (text, binary; corners that coincide count once), PLY (text, both binary orders), OBJ (vertices). Told apart by
/// content, then by the file's name. Throws FileError (cannot read, over 2 GiB), BadInput (not such a file, cut short,
/// bad number; says where).
PointFile read_scan(const std::string& path);

}  // namespace bedwright
