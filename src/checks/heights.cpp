#include "layout/heights.h"

#include <cmath>

#include "base/numbers.h"
#include "base/trig.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

// A bed height nearer than this to the one wanted is what levelling takes up. Common practice, no source.
constexpr double height_slack_mm = 0.1;
// A toothed belt may be pulled sideways by this much; without spans, this far. Common practice, no source.
constexpr double belt_slant_deg = 1, belt_off_mm = 1;

std::string tolerances(const HeightStack& s) {
  return "+-" + decimal(s.worst_mm(), 2) + " at worst, +-" + decimal(s.rss_mm(), 2) + " RSS";
}

void first_homing(const HeightPlan& plan, std::vector<Finding>& findings) {
  if (!plan.nozzle) return;
  const double least = plan.nozzle->sum_mm() - plan.nozzle->worst_mm();
  if (least >= 0) return;
  findings.push_back({"first-homing", Severity::warning, "", "",
                      "the bed comes out " + rise_words(plan) + " (" + tolerances(*plan.rise) +
                          "): homed as before, the nozzle may be driven " + decimal(-least, 2) + " mm into it",
                      least, 0, "mm",
                      "before the first homing raise the Z limit by " + decimal(-least, 1) +
                          " mm and more, then find the new zero by hand",
                      {{"bed"}}});
}

void bed_height(const HeightPlan& plan, std::vector<Finding>& findings) {
  if (!plan.plate_change_mm || std::fabs(*plan.plate_change_mm) <= height_slack_mm) return;
  const double change = *plan.plate_change_mm;
  findings.push_back(
      {"bed-height", Severity::warning, "", "",
       "the bed comes to " + decimal(plan.bed->sum_mm(), 2) + " mm; you want " + decimal(*plan.wanted_mm, 2),
       plan.bed->sum_mm(), *plan.wanted_mm, "mm",
       "name the spacer under the bed's mounts (bed.spacer) and its thickness follows, or make the "
       "plates " +
           decimal(std::fabs(change), 2) + (change > 0 ? " mm thicker" : " mm thinner"),
       {{"bed"}}});
}

void belt(const Kit& kit, const HeightPlan& plan, std::vector<Finding>& findings) {
  if (!plan.belt) return;
  const double off = plan.belt->sum_mm();
  double limit = belt_off_mm;
  std::string how = "1 mm";
  if (kit.drive) {
    // The clamp comes nearest to the motor or the idler at the end of the travel.
    const double shortest =
        std::max(10.0, std::min(kit.drive->belt_spans_mm.x, kit.drive->belt_spans_mm.y) - kit.rails.travel_mm / 2);
    limit = shortest * sin_rad(belt_slant_deg * rad_per_deg) / cos_rad(belt_slant_deg * rad_per_deg);
    how =
        decimal(belt_slant_deg, 0) + " degree over the " + decimal(shortest, 0) + " mm it is from the pulley at least";
  }
  if (std::fabs(off) <= limit) return;
  findings.push_back({"belt-line", Severity::warning, "", "",
                      "the belt's clamp comes " + decimal(std::fabs(off), 2) + (off > 0 ? " mm above" : " mm below") +
                          " the belt's line (" + tolerances(*plan.belt) + "); the most is " + how,
                      off, limit, "mm",
                      "put " + decimal(std::fabs(off), 1) +
                          " mm between clamp and frame, or under motor and idler, so "
                          "that the belt runs level again",
                      {{"frame"}}});
}

void end_switch(const Kit& kit, const Layout& layout, const HeightPlan& plan, std::vector<Finding>& findings) {
  if (!kit.before || !kit.before->end_switch) return;
  const EndSwitch& s = *kit.before->end_switch;
  if (s.bed_y_mm < layout.travel_front_mm || s.bed_y_mm > layout.travel_rear_mm)
    findings.push_back({"switch-beyond", Severity::warning, "", "",
                        "the end switch trips with the bed at y = " + decimal(s.bed_y_mm, 1) +
                            ", and the carriages can go only from " + decimal(layout.travel_front_mm, 1) + " to " +
                            decimal(layout.travel_rear_mm, 1) + ": it is never struck",
                        s.bed_y_mm, s.bed_y_mm < 0 ? layout.travel_front_mm : layout.travel_rear_mm, "mm",
                        "move the switch or its flag, take longer rails, or set the carriages closer", {{"frame"}}});
  if (!plan.flag) return;
  const double off = plan.flag->sum_mm();
  if (std::fabs(off) + plan.flag->worst_mm() <= s.window_mm) return;
  findings.push_back({"switch-missed", Severity::warning, "", "",
                      "the switch's flag comes " + decimal(std::fabs(off), 2) + (off > 0 ? " mm higher" : " mm lower") +
                          " than before (" + tolerances(*plan.flag) + "); it meets the switch within " +
                          decimal(s.window_mm, 1) + " mm",
                      off, s.window_mm, "mm",
                      "set the flag " + decimal(std::fabs(off), 1) + (off > 0 ? " mm lower" : " mm higher") +
                          " on the frame, and try it by hand before power is on",
                      {{"frame"}}});
}

}  // namespace

void check_heights(const Known& known, std::vector<Finding>& findings) {
  const HeightPlan plan = height_plan(known.kit, known.layout);
  first_homing(plan, findings);
  bed_height(plan, findings);
  belt(known.kit, plan, findings);
  end_switch(known.kit, known.layout, plan, findings);
  if (plan.missing.empty()) return;
  std::string list;
  for (const std::string& m : plan.missing) list += (list.empty() ? "" : "; ") + m;
  findings.push_back({"before-missing", Severity::note, "", "",
                      "what the kit does not tell, and what stays unanswered: " + list,
                      static_cast<double>(plan.missing.size()), 0, "",
                      "measure it while the old machine still stands; nothing of it can be measured later"});
}

}  // namespace bedwright
