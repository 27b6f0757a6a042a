// What a check says. Codes are words with hyphens, listed in docs/findings.md.
#pragma once

#include <string>
#include <vector>

namespace bedwright {

enum class Severity { error, warning, note };

struct Finding {
  std::string code;
  Severity severity = Severity::note;
  std::string part;     ///< a part's id, or empty
  std::string feature;  ///< a feature's or a joint's id, or empty
  std::string message;  ///< one sentence for a tired person
  double value = 0, limit = 0;
  std::string unit;    ///< "mm", "um", "deg", "C", "" ...
  std::string remedy;  ///< what to change, in numbers where there are any
};

const char* to_text(Severity severity);
bool has_error(const std::vector<Finding>& findings);

}  // namespace bedwright
