#include "base/numbers.h"
#include "base/trig.h"
#include "checks/checks.h"
#include "kit/hardware.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

// Common practice, no source: more slope than this under a head bends the screw noticeably.
constexpr double most_slope_deg = 2;

}  // namespace

void check_head_slope(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (p.part->family != "adapter_plate") continue;
    const CapScrew* screw = find_cap_screw(plate_settings(known.kit, *p.part).frame_screw);
    const Feature* worst = nullptr;
    double worst_rad = 0;
    for (const Feature& f : p.part->features) {
      if (f.kind != FeatureKind::insert_pocket) continue;
      const double slope = slope_at(p.part->seat, {f.at.x, f.at.y});
      if (!worst || slope > worst_rad) worst = &f, worst_rad = slope;
    }
    const double slope_deg = worst_rad / rad_per_deg;
    if (!worst || !screw || slope_deg <= most_slope_deg) continue;
    const double lift = screw->head_diameter_mm * sin_rad(worst_rad);
    findings.push_back({"head-slope", Severity::warning, p.part->id, worst->id,
                        "the frame slopes " + decimal(slope_deg, 1) + " degrees under the screw head at " + worst->id +
                            ": one side of the head lifts " + decimal(lift, 2) + " mm",
                        slope_deg, most_slope_deg, "deg",
                        "put a pair of spherical washers or a soft washer under the head, and tighten gently"});
  }
}

}  // namespace bedwright
