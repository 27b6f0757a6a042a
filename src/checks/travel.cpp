#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {

void check_travel(const Known& known, std::vector<Finding>& findings) {
  const double has = known.layout.travel_available_mm, needs = known.layout.travel_needed_mm;
  if (has >= needs) return;
  // A negative travel means that the carriages do not even fit on the rail.
  const Severity severity = has < 0 ? Severity::error : Severity::warning;
  findings.push_back(
      {"travel-short", severity, "", "",
       has < 0 ? "the carriages do not fit on the rail: " + decimal(-has, 1) + " mm are missing"
               : "the bed can move " + decimal(has, 1) + " mm; you ask for " + decimal(needs, 1) + " mm",
       has, needs, "mm",
       "use rails " + decimal(needs - has, 1) + " mm longer, or put the carriages that much closer together",
       {{"rails"}, {"carriages"}}});
}

}  // namespace bedwright
