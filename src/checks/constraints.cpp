#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"
#include "checks/machine_places.h"
#include "layout/constraint_plan.h"

namespace bedwright {
namespace {

void reference(const Kit& kit, const ConstraintPlan& plan, std::vector<Finding>& findings) {
  if (plan.plates.empty()) return;
  if (!plan.reference) {
    findings.push_back(
        {"no-reference", Severity::note, "", "",
         "no rail is named as the reference, so all plates are alike and nothing is changed: one rail should place the "
         "frame across, and the plates on the other float",
         0, 0, "",
         "name the straighter rail, or the one that lies against an edge, in rails.reference: its plates get round "
         "holes, the others slots across the rail (slot_mm)",
         {{"rails"}}});
    return;
  }
  const std::string other = *plan.reference == "left" ? "right" : "left";
  double least = 1e300;
  bool slots = false;
  for (const PlateRole& p : plan.plates)
    if (!on_reference(kit, p.placement)) {
      slots = slots || p.extra_mm > 0;
      least = std::min(least, p.across_left_mm);
    }
  if (least > 1e299) return;
  findings.push_back(
      {"reference-rail", Severity::note, "", "",
       "the " + *plan.reference + " rail places the frame: round holes there" +
           (slots ? ", slots across the rail on the " + other + ", so left and right plates differ"
                  : "; slot_mm is 0 or lies along the rail, so the plates on the " + other + " hardly float either") +
           "; there " + decimal(std::max(least, 0.0), 2) + " mm to either side are left after the patterns' tolerance",
       least, 0, "mm",
       "tighten the plates on the " + *plan.reference + " rail first, the others while the bed is moved",
       {whole_rail(*plan.reference)}});
}

void slots(const Kit& kit, const ConstraintPlan& plan, std::vector<Finding>& findings) {
  if (!plan.reference) return;
  const double grows = std::fabs(plan.across_growth_mm);
  for (const PlateRole& p : plan.plates) {
    if (on_reference(kit, p.placement) || p.across_left_mm >= grows) continue;
    findings.push_back({"slot-spent", Severity::warning, p.part, "",
                        p.part + " at " + p.placement + " can float " + decimal(std::max(p.across_left_mm, 0.0), 2) +
                            " mm across the rail; hot, the frame grows " + decimal(grows, 2) + " mm against the base",
                        p.across_left_mm, grows, "mm",
                        "make slot_mm " + decimal(p.extra_mm + 2 * (grows - p.across_left_mm) + 0.1, 1) + " or more"});
  }
}

/// The sheet's upper face there, as far as it is known.
Vec3 on_sheet(const Known& known, Vec2 p) {
  // Beyond what was measured any height near the sheet's shows the place.
  const double under = height_if_known(known.layout.underside, p).value_or(known.layout.height_mm);
  return {p.x, p.y, under + known.kit.frame.sheet_thickness_mm};
}

void mounts(const Known& known, const ConstraintPlan& plan, std::vector<Finding>& findings) {
  const MountRole* worst = nullptr;
  std::vector<FindingPlace> places = {{"bed"}};
  int n = 0;
  for (const MountRole& m : plan.mounts) {
    if (m.slot_mm <= 0) continue;
    ++n;
    places.push_back({"frame", on_sheet(known, m.at)});
    if (!worst || m.slot_mm > worst->slot_mm) worst = &m;
  }
  if (!worst) return;
  const double grows = length(worst->growth_mm);
  findings.push_back(
      {"mount-slot", Severity::warning, "", worst->id,
       std::to_string(n) + (n == 1 ? " mount does" : " mounts do") + " not let the bed grow: at " + worst->id +
           " it moves " + decimal(grows, 2) + " mm against the frame, and the hole leaves " +
           decimal(worst->room_mm.value_or(0), 2),
       grows, worst->room_mm.value_or(0), "mm",
       "make a slot " + decimal(worst->slot_mm, 1) + " mm long, pointing " +
           (plan.fixed_mount ? "at the fixed mount " + *plan.fixed_mount : std::string("at the middle")) +
           ", or take a thinner screw; one mount stays tight",
       places});
}

void pads(const Kit& kit, const ConstraintPlan& plan, std::vector<Finding>& findings) {
  for (const PadStep& s : plan.pads) {
    if (s.used_percent() <= 100) continue;
    const auto low = static_cast<std::size_t>(s.mm < 0 ? s.a : s.b),
               high = static_cast<std::size_t>(s.mm < 0 ? s.b : s.a);
    findings.push_back({"pad-height", Severity::warning, "", "",
                        std::string("the pad at ") + placement_ids[low] + " stands " + decimal(std::fabs(s.mm), 3) +
                            " mm lower than at " + placement_ids[high] + ": " + decimal(s.used_percent(), 0) +
                            " % of what the rails allow",
                        std::fabs(s.mm), s.limit_mm, "mm",
                        std::string("shim the pad at ") + placement_ids[low] + " by " +
                            decimal(plan.pad_shim_mm[low], 3) + " mm" +
                            (kit.carriages.measured.empty() ? "" : "; carriages and pads are counted together"),
                        {carriage_at(placement_ids[low]), carriage_at(placement_ids[high])}});
  }
}

}  // namespace

void check_constraints(const Known& known, std::vector<Finding>& findings) {
  const ConstraintPlan plan = constraint_plan(known.kit, known.layout);
  reference(known.kit, plan, findings);
  slots(known.kit, plan, findings);
  mounts(known, plan, findings);
  pads(known.kit, plan, findings);
}

}  // namespace bedwright
