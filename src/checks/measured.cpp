#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"
#include "survey/measured_fit.h"

namespace bedwright {
namespace {

// A reading this far off its neighbours' surface on average is no longer what a feeler or a depth gauge gives
// (common practice, no source).
constexpr double rough_mm = 0.05;

std::string place(Vec3 p) {
  return "x " + decimal(p.x, 2) + ", y " + decimal(p.y, 2) + ", z " + decimal(p.z, 3);
}

/// The made part that stands there, as placed.
std::string plate_there(const Known& known, const PlateFootprint& plate) {
  for (const KnownPart& p : known.parts) {
    const std::vector<std::string>& at = p.part->placements;
    if (std::find(at.begin(), at.end(), plate.placement) != at.end()) return p.part->id + " at " + plate.placement;
  }
  return "frame";
}

}  // namespace

void check_measured(const Known& known, std::vector<Finding>& findings) {
  if (!known.layout.underside.measured) return;
  const MeasuredShape& shape = *known.layout.underside.measured;
  for (const PlateFootprint& plate : known.layout.plates) {
    const auto at = std::find_if(known.layout.placements.begin(), known.layout.placements.end(),
                                 [&](const Placement& p) { return p.id == plate.placement; });
    if (at == known.layout.placements.end()) continue;
    const double beyond = beyond_points_mm(shape, plate, *at);
    if (beyond <= 1e-9) continue;
    findings.push_back(
        {"measured-beyond", Severity::warning, "", "",
         plate.part + " at " + plate.placement + " reaches " + decimal(beyond, 1) +
             " mm beyond the measured points; there its seat goes on as the surface does at their rim, off by " +
             decimal(continuation_bound_mm(shape, beyond), 3) +
             " mm or less as long as the sheet bends no more abruptly there than inside",
         beyond, shape.beyond_mm, "mm", "measure points farther out, past the plate's edge", {{plate_there(known, plate)}}});
  }
  for (const LeftOut& o : shape.outliers)
    findings.push_back({"measured-left-out", Severity::warning, "", "",
                        "the point " + place(o.at) + " is left out: it stands " + decimal(std::fabs(o.off_mm), 2) +
                            " mm " + (o.off_mm > 0 ? "above" : "below") + " what the others say",
                        std::fabs(o.off_mm), least_outlier_mm, "mm",
                        "measure there again; dirt, paint and a hole's rim all count", {{"frame", o.at}}});
  if (shape.noise_mm > rough_mm)
    findings.push_back({"measured-rough", Severity::warning, "", "",
                        "the points scatter by " + decimal(shape.noise_mm, 3) +
                            " mm about any smooth surface; the seats are no surer than that",
                        shape.noise_mm, rough_mm, "mm",
                        "measure closer together, or each place twice, with the sheet resting in the same way", {{"frame"}}});
}

}  // namespace bedwright
