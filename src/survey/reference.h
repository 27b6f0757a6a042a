// The scan's frame of reference from three features, and levelling.
#pragma once

#include <vector>

#include "base/vec.h"
#include "survey/survey.h"

namespace bedwright {

/// The rigid motion that brings `origin` to (0, 0, 0), `on_x` onto +X and `on_plane` into the XY plane with Y > 0 (to
/// the rear). Throws BadInput if the three lie on one line or coincide.
Transform reference_from(Vec3 origin, Vec3 on_x, Vec3 on_plane);

/// Turns the points about (0, 0, 0) by the least turn that levels the surface over the four corners at +-half (nothing:
/// over the data's own box), whichever way it lay before; the side that was up by Z stays up. Returns the turn,
/// degrees. Throws BadInput as survey_points does.
double level(std::vector<Vec3>& points, const SurveyOptions& options, const std::string& source);

}  // namespace bedwright
