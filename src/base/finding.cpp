#include "base/finding.h"

#include <algorithm>

namespace bedwright {

const char* to_text(Severity severity) {
  switch (severity) {
    case Severity::error: return "error";
    case Severity::warning: return "warning";
    default: return "note";
  }
}

bool has_error(const std::vector<Finding>& findings) {
  return std::any_of(findings.begin(), findings.end(),
                     [](const Finding& f) { return f.severity == Severity::error; });
}

}  // namespace bedwright
