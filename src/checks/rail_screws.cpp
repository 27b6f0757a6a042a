#include "base/numbers.h"
#include "checks/checks.h"
#include "checks/machine_places.h"

namespace bedwright {

void check_rail_screws(const Known& known, std::vector<Finding>& findings) {
  const RailSettings& rails = known.kit.rails;
  if (rails.base || known.layout.rail_holes < 1) return;
  const std::string under = decimal(rails.under_head_mm, 2) + " mm";
  findings.push_back({"rail-screws", Severity::note, "", "",
                      "the kit does not say what the rails are screwed to, so their " + rails.size.screw +
                          " screws have no length yet: " + under + " of it stay in the rail",
                      rails.under_head_mm, 0, "mm",
                      "measure the thread in the base and what lies between, and write rails.base",
                      at_rail_screws(known.kit, rail_lines(known.kit, known.layout))});
}

}  // namespace bedwright
