#include "base/numbers.h"
#include "checks/checks.h"
#include "kit/hardware.h"

namespace bedwright {
namespace {

// The parts hang under the bed and stay cooler than it; this much is kept in hand. Common practice, no source.
constexpr double margin_c = 5;

}  // namespace

void check_softening(const Known& known, std::vector<Finding>& findings) {
  if (!known.kit.bed) return;
  const double limit = known.kit.bed->max_temperature_c + margin_c;
  for (const KnownPart& p : known.parts) {
    const Material* material = find_material(p.part->material);
    if (p.part->stands_at) continue;  // on the base, away from the bed
    if (!material || material->softening_c >= limit) continue;
    findings.push_back({"softening", Severity::warning, p.part->id, "",
                        p.part->id + ": " + p.part->material + " begins to give way at " +
                            decimal(material->softening_c, 0) + " C; the bed reaches " +
                            decimal(known.kit.bed->max_temperature_c, 1) + " C",
                        material->softening_c, limit, "C",
                        "measure the temperature at the part after an hour's soak, or print it in a material that "
                        "holds " +
                            decimal(limit, 1) + " C"});
  }
}

}  // namespace bedwright
