#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {

void check_joints(const Known& known, std::vector<Finding>& findings) {
  for (const JointSolution& s : known.joints) {
    const Joint& joint = s.joint;
    if (!s.ok)
      findings.push_back({"no-screw", Severity::error, joint.part, joint.id, joint.id + ": " + s.why, s.window_least_mm,
                          s.window_greatest_mm.value_or(s.window_least_mm), "mm", s.remedy});
    if (!joint.behind.known && !joint.anchor.blind)
      findings.push_back({"unknown-behind", Severity::warning, joint.part, joint.id,
                          joint.id + ": nobody has looked what the screw's tip would meet", 0, 0, "",
                          "look before drilling or tightening, then write `behind` with the free distance"});
    if (joint.also_holds.empty())
      findings.push_back({"also-holds", Severity::warning, joint.part, joint.id,
                          joint.id + ": it is not said whether this screw also holds something else", 0, 0, "",
                          "write also_holds: what comes loose with it, or \"none\""});
  }
}

}  // namespace bedwright
