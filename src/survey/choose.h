// Second half of a survey of points: which shape the data believe in, and what may be said of it. Private to the
// survey.
#pragma once

#include "survey/gather.h"

namespace bedwright {

/// Fills everything of the survey but the lists of points and the residuals.
void choose_shape(const Gathered& gathered, const SurveyOptions& options, Survey& survey);

}  // namespace bedwright
