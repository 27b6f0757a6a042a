// What `survey` says: one JSON document, the same as text, and what a person should know beside it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/finding.h"
#include "kit/kit.h"
#include "survey/scale.h"
#include "survey/survey.h"

namespace bedwright {

enum class SurveySource { readings, table, scan };

struct SurveyReport {
  Survey survey;
  SurveySource source = SurveySource::table;
  std::string source_name;  ///< as the user gave it
  ScaleFix scale;
  bool scaled = false;             ///< --known was given
  double radius_u_scale_mm = 0;    ///< what the scale's own uncertainty adds, already within radius_u_mm
  std::optional<Vec2> pitch_mm;    ///< the hole pattern's box, from a kit
  std::optional<double> float_mm;  ///< how far a hole may be off and its screw still pass (position zone's diameter)
  std::string float_words;         ///< "M4 in 4.5 mm holes"
  std::optional<bool> stated_crown_up;
  std::vector<std::string> done;  ///< what was done to the points before the fit: units, crop, level, scale
  std::vector<Finding> findings;
  std::string written;  ///< the kit, if it was changed
  std::string points_file;
};

/// Fills `findings`: what the data cannot see, what contradicts the kit, what the scale means at the holes.
void remark(SurveyReport& report);
Json survey_document(const SurveyReport& report);
std::string survey_text(const SurveyReport& report);

/// Height error at the corners of the hole pattern (or of the data's box) that the 95 % interval of the curvature
/// leaves, mm.
double corner_doubt_mm(const SurveyReport& report);

}  // namespace bedwright
