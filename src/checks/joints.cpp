#include "base/numbers.h"
#include "checks/checks.h"
#include "joints/clamp.h"

namespace bedwright {
namespace {

constexpr double same_mm = 1e-6;

std::string screw_text(const Joint& joint, double length) {
  return joint.thread + "x" + decimal(length, 1);
}

void check_old_screw(const JointSolution& s, std::vector<Finding>& findings) {
  if (!s.joint.existing || !s.pick_mm) return;
  const double old = s.joint.existing->length_mm;
  for (const StockLength& length : s.fits)
    if (length.mm > old - same_mm && length.mm < old + same_mm) return;
  findings.push_back({"old-screw", Severity::note, s.joint.part, s.joint.id,
                      s.joint.id + ": the old " + screw_text(s.joint, old) + " must not go back in; lengths from " +
                          decimal(s.window_least_mm, 2) +
                          (s.window_greatest_mm ? " to " + decimal(*s.window_greatest_mm, 2) + " mm" : " mm up") +
                          " suit it",
                      old, s.window_least_mm, "mm", "take " + screw_text(s.joint, *s.pick_mm)});
}

void check_clamp(const JointSolution& s, std::vector<Finding>& findings) {
  const Clamp clamp = clamp_of(s.joint);
  if (!clamp.on_plastic) return;
  const double limit = s.joint.rules.clamp_limit_mpa;
  if (clamp.area_mm2 <= 0) {
    findings.push_back({"clamp-stress", Severity::warning, s.joint.part, s.joint.id,
                        s.joint.id + ": the head passes its hole, so nothing bears", 0, limit, "MPa",
                        "put a washer under it, or make the hole smaller"});
    return;
  }
  if (!s.joint.torque_nm || clamp.stress_mpa <= limit + same_mm) return;
  findings.push_back({"clamp-stress", Severity::warning, s.joint.part, s.joint.id,
                      s.joint.id + ": " + decimal(clamp.torque_nm, 2) + " N.m press the plastic with " +
                          decimal(clamp.stress_mpa, 0) + " MPa; it creeps above " + decimal(limit, 0),
                      clamp.stress_mpa, limit, "MPa",
                      "tighten with " + decimal(clamp.torque_greatest_nm, 2) +
                          " N.m at most, or use a wider washer or a metal sleeve"});
}

void check_second_choice(const JointSolution& s, std::vector<Finding>& findings) {
  if (!s.second_choice || s.fits.front().at_hand) return;
  findings.push_back({"second-choice", Severity::note, s.joint.part, s.joint.id,
                      s.joint.id + ": only a second-choice length fits, " + screw_text(s.joint, *s.pick_mm) +
                          ", which not every shop has",
                      *s.pick_mm, s.window_least_mm, "mm", "order it, or change the grip"});
}

}  // namespace

void check_joints(const Known& known, std::vector<Finding>& findings) {
  for (const JointSolution& s : known.joints) {
    const Joint& joint = s.joint;
    if (!s.ok)
      findings.push_back({"no-screw", Severity::error, joint.part, joint.id, joint.id + ": " + s.why, s.window_least_mm,
                          s.window_greatest_mm.value_or(s.window_least_mm), "mm", s.remedy});
    if (!joint.behind.known && !joint.anchor.blind)
      findings.push_back({"unknown-behind", Severity::warning, joint.part, joint.id,
                          joint.id + ": stop and look; nobody has seen what this screw's tip would meet", 0, 0, "",
                          "look before drilling or tightening, then write `behind` with the free distance"});
    if (joint.also_holds.empty())
      findings.push_back({"also-holds", Severity::warning, joint.part, joint.id,
                          joint.id + ": it is not said whether this screw also holds something else", 0, 0, "",
                          "write also_holds: what comes loose with it, or \"none\""});
    if (joint.anchor.kind == "insert" && joint.anchor.pressed_from == "head")
      findings.push_back({"insert-pulls-out", Severity::warning, joint.part, joint.id,
                          joint.id + ": tightening pulls the insert out the way it went in", 0, 0, "",
                          "press the insert in from the other side, or use a nut there"});
    check_clamp(s, findings);
    check_old_screw(s, findings);
    check_second_choice(s, findings);
  }
}

}  // namespace bedwright
