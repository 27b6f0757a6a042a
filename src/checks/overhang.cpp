#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

// The roofs of a few screw holes bridge without harm; common practice, no source.
constexpr double harmless_mm2 = 25;

}  // namespace

void check_overhang(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (p.overhang_mm2 <= harmless_mm2) continue;
    findings.push_back({"overhang", Severity::warning, p.part->id, "",
                        decimal(p.overhang_mm2, 0) + " mm2 of " + p.part->id +
                            " face down off the bed, flatter than 45 degrees, as it lies in its file",
                        p.overhang_mm2, harmless_mm2, "mm2",
                        "look at it in the slicing preview; add support where it does not bridge"});
  }
}

}  // namespace bedwright
