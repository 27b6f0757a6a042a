// A page (A4, SVG) that shows a survey: how far each point stands off the chosen shape, and sections through the
// middle. Shades carry no meaning: above is filled, below is open, so that a grey print says the same.
#pragma once

#include <string>

#include "output/survey_report.h"

namespace bedwright {

std::string survey_svg(const SurveyReport& report);

}  // namespace bedwright
