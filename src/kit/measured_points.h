// The file of heights that a measured dome names: CSV x_mm, y_mm, z_mm beside the kit.
#pragma once

#include <string>
#include <vector>

#include "base/error.h"
#include "kit/beside.h"
#include "kit/kit.h"

namespace bedwright {

inline constexpr std::size_t least_measured_points = 9;
inline constexpr std::size_t most_measured_points = 100000;
/// Greatest |x|, |y| and |z| of a point.
inline constexpr double farthest_point_mm = 1000, highest_point_mm = 100;

/// The file that a dome of shape `measured` names; empty for any other, or where the name itself has a problem.
std::string points_file_of(const Json& document, const std::vector<Problem>& problems);

/// Reads dome.points of a document, whose file's bytes are `text`. Columns go by a header that names x, y and z, by
/// their order otherwise. Adds problems at /frame/dome/points, each with the file's line: what is no number, out of
/// range, in another unit, too few or too many points, or too small a patch for the machine.
std::vector<Vec3> measured_points(const std::string& file, const std::string& text, const Json& document,
                                  std::vector<Problem>& problems);

/// The file's bytes. Adds a problem where there is no such file or it is over the limit; throws FileError where it
/// cannot be read.
std::string points_bytes(const Beside& beside, const std::string& file, std::vector<Problem>& problems);

}  // namespace bedwright
