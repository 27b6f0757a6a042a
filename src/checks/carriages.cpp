#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"
#include "checks/machine_places.h"
#include "kit/hardware.h"
#include "layout/plate_settings.h"

namespace bedwright {
namespace {

void heights(const Kit& kit, const CarriagePairing& p, std::vector<Finding>& findings) {
  for (const HeightStep& s : p.steps) {
    if (s.used_percent() <= 100) continue;
    const int low = s.mm < 0 ? s.a : s.b, high = s.mm < 0 ? s.b : s.a;
    const auto name = [&](int placement) {
      return kit.carriages.measured[p.carriage[static_cast<std::size_t>(placement)]].id + " at " +
             placement_ids[static_cast<std::size_t>(placement)];
    };
    findings.push_back({"carriage-height", Severity::warning, "", "",
                        "carriage " + name(low) + " stands " + decimal(std::fabs(s.mm), 3) + " mm lower than " +
                            name(high) + ": " + decimal(s.used_percent(), 0) + " % of what the rails allow",
                        std::fabs(s.mm), s.limit_mm, "mm",
                        "put a shim of " + decimal(p.shim_mm[static_cast<std::size_t>(low)], 3) + " mm on " +
                            name(low) + "; no other order of these carriages is better",
                        {carriage_at(placement_ids[static_cast<std::size_t>(low)]),
                         carriage_at(placement_ids[static_cast<std::size_t>(high)])}});
  }
}

/// Two holes' clearances take up a pitch that is off by hole minus screw, and a slot by its extra length more.
void hole_pitches(const Kit& kit, const CarriagePairing& p, std::vector<Finding>& findings) {
  for (const PartRequest& request : kit.parts) {
    if (request.family != "adapter_plate") continue;
    const PlateSettings s = plate_settings(kit, request);
    const ThreadSize* thread = find_thread(s.carriage_screw);
    if (!thread) continue;
    for (const std::string& id : placements_of(request)) {
      const auto at =
          static_cast<std::size_t>(std::find(placement_ids.begin(), placement_ids.end(), id) - placement_ids.begin());
      if (at >= p.carriage.size()) continue;
      const MeasuredCarriage& c = kit.carriages.measured[p.carriage[at]];
      if (!c.hole_pitch_mm) continue;
      const Vec2 off{std::fabs(c.hole_pitch_mm->x - kit.carriages.size.hole_across_mm),
                     std::fabs(c.hole_pitch_mm->y - kit.carriages.size.hole_along_mm)};
      const double play = s.carriage_hole_mm - thread->diameter_mm, slot = 2 * slot_extra_mm(s, id);
      const double over_x = off.x - play - (s.slot_along_y ? 0 : slot),
                   over_y = off.y - play - (s.slot_along_y ? slot : 0);
      if (std::max(over_x, over_y) <= 0) continue;
      const bool across = over_x >= over_y;
      findings.push_back(
          {"carriage-hole-pitch", Severity::error, "", "",
           "carriage " + c.id + " at " + id + " has its holes " +
               decimal(across ? c.hole_pitch_mm->x : c.hole_pitch_mm->y, 2) + " mm apart " +
               (across ? "across" : "along") + " the rail; " + request.id + " is drawn for " +
               decimal(across ? kit.carriages.size.hole_across_mm : kit.carriages.size.hole_along_mm, 2),
           across ? off.x : off.y, (across ? off.x - over_x : off.y - over_y), "mm",
           "measure again; if it is right, set /carriages/hole_pitch_mm, or use that carriage elsewhere",
           {carriage_at(id)}});
    }
  }
}

}  // namespace

void check_carriages(const Known& known, std::vector<Finding>& findings) {
  if (known.layout.pairing) {
    heights(known.kit, *known.layout.pairing, findings);
    hole_pitches(known.kit, *known.layout.pairing, findings);
  }
  for (const RailHoles& way : known.layout.other_rail_holes)
    findings.push_back({"rail-holes", Severity::warning, "", "",
                        "a rail of " + decimal(known.kit.rails.length_mm, 1) + " mm may have " +
                            std::to_string(known.layout.rail_holes) + " holes, the first at " +
                            decimal(known.layout.rail_first_hole_mm, 2) + " mm, or " + std::to_string(way.count) +
                            ", the first at " + decimal(way.first_mm, 2) + " mm: its length does not tell",
                        known.layout.rail_first_hole_mm, way.first_mm, "mm",
                        "measure from the rail's end to the middle of its first hole and set /rails/end_distance_mm",
                        at_rail_screws(known.kit, rail_lines(known.kit, known.layout))});
}

}  // namespace bedwright
