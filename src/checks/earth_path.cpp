#include <algorithm>

#include "checks/checks.h"

namespace bedwright {

void check_earth_path(const Known& known, std::vector<Finding>& findings) {
  const bool plates = std::any_of(known.parts.begin(), known.parts.end(), [](const KnownPart& p) {
    return p.part->family == "adapter_plate" || p.part->family == "support_plate";
  });
  if (!plates) return;
  findings.push_back({"earth-path", Severity::note, "", "",
                      "printed plates insulate the frame and the bed from the rails: the old path to earth through the "
                      "metal is gone",
                      0, 0, "", "run a separate protective earth to the bed and the frame, and have it tested",
                      {{"frame"}, {"bed"}}});
}

}  // namespace bedwright
