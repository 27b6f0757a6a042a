// What a check says. Codes are words with hyphens, listed in docs/findings.md.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/vec.h"

namespace bedwright {

enum class Severity { error, warning, note };

/// A thing of the machine, or a spot, that somebody has to look at.
struct FindingPlace {
  /// "left rail", "carriage front-left", "adapter-a at front-left", "frame", "bed", "stops"; empty: the spot is in space.
  std::string on;
  std::optional<Vec3> at_mm = {};  ///< machine frame, the bed at mid travel; none: the thing as a whole
};

struct Finding {
  std::string code;
  Severity severity = Severity::note;
  std::string part;     ///< a part's id, or empty
  std::string feature;  ///< a feature's or a joint's id, or empty
  std::string message;  ///< one sentence for a tired person
  double value = 0, limit = 0;
  std::string unit;    ///< "mm", "um", "deg", "C", "" ...
  std::string remedy;  ///< what to change, in numbers where there are any
  std::vector<FindingPlace> places = {};  ///< in the machine; what `part` and `feature` say is not repeated
};

const char* to_text(Severity severity);
bool has_error(const std::vector<Finding>& findings);

}  // namespace bedwright
