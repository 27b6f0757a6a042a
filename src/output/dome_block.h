// The dome of a kit file, from a survey: as the kit has it and as the points file beside it.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "survey/survey.h"

namespace bedwright {

struct DomeText {
  nlohmann::ordered_json block;  ///< what /frame/dome becomes, with a note of where it came from
  std::string points;            ///< CSV where the shape is kept as points, else empty
};

/// `apex`: the sphere's, or the kit's where the readings see none. `points_name`: the points file as the kit is
/// to name it.
DomeText dome_text(const Survey& survey, bool measured_on_upper, std::optional<Vec2> apex,
                   const std::string& points_name);

/// First line of a points file that survey wrote: only such a file is replaced.
inline constexpr const char* points_file_mark = "# points of the frame's surface, written by bedwright survey";

}  // namespace bedwright
