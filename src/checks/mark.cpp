#include "checks/checks.h"

namespace bedwright {

namespace {

/// A flat ring or block fits any way round.
bool has_a_way_round(const Part& part) {
  return part.family == "adapter_plate" || part.seat.shape != SurfaceShape::plane || part.seat.slope.x != 0 ||
         part.seat.slope.y != 0;
}

}  // namespace

void check_mark(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (p.part->placements.empty() || p.part->visible_mark || !has_a_way_round(*p.part)) continue;
    findings.push_back({"mark-missing", Severity::warning, p.part->id, "",
                        p.part->id + " carries no mark that says which way it goes", 0, 0, "",
                        "set \"mark\": true, or write id, UP and an arrow on it as soon as it leaves the printer"});
  }
}

}  // namespace bedwright
