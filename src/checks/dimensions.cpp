#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {

void check_dimensions(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    std::string missing;
    int count = 0;
    for (const MeasuredDimension& d : p.comparison->dimensions) {
      if (!d.measured_mm) {
        missing += (count++ ? ", " : "") + d.feature + " " + d.quantity;
        continue;
      }
      if (d.ok) continue;
      findings.push_back({"dimension-off", Severity::error, p.part->id, d.feature,
                          d.feature + ": " + d.quantity + " measures " + decimal(*d.measured_mm, 4) +
                              " mm in the file instead of " + decimal(d.modelled_mm, 4),
                          std::fabs(d.deviation_mm), d.tolerance_mm, "mm", "do not print it; report this kit"});
    }
    if (count > 0)
      findings.push_back({"not-measured", Severity::note, p.part->id, "",
                          std::to_string(count) + (count == 1 ? " dimension" : " dimensions") +
                              " could not be measured in the file and stand in no table: " + missing,
                          double(count), 0, "", ""});
  }
}

}  // namespace bedwright
