#include "output/steps.h"

#include "base/numbers.h"

namespace bedwright {
namespace {

// Clamp force F = T / (0.2 d): 0.25 N.m on M3 gives 28 MPa under a bare head, as much as printed plastic should see
// for long. Common practice, no source.
constexpr const char* into_plastic =
    "by the short arm of the key: about 0.25 N.m for M3, 0.4 N.m for M4; stop when the head stops turning freely";

std::vector<std::string> ids_of(const std::vector<PartReport>& parts, const std::string& family) {
  std::vector<std::string> ids;
  for (const PartReport& p : parts)
    if (family.empty() || p.part.family == family) ids.push_back(p.part.id);
  return ids;
}

std::vector<std::string> joints_at(const std::vector<JointSolution>& joints, const std::string& anchor) {
  std::vector<std::string> ids;
  for (const JointSolution& s : joints)
    if (!s.joint.part.empty() && s.joint.anchor.kind == anchor) ids.push_back(s.joint.id);
  return ids;
}

std::vector<std::string> other_joints(const std::vector<JointSolution>& joints) {
  std::vector<std::string> ids;
  for (const JointSolution& s : joints)
    if (s.joint.part.empty()) ids.push_back(s.joint.id);
  return ids;
}

std::string where_each_goes(const std::vector<PartReport>& parts) {
  std::string text;
  for (const PartReport& p : parts) {
    if (p.part.family != "adapter_plate" || p.part.placements.empty()) continue;
    text += (text.empty() ? ": " : "; ") + p.part.id + " at ";
    for (std::size_t i = 0; i < p.part.placements.size(); ++i) text += (i ? " and " : "") + p.part.placements[i];
  }
  return text;
}

Step step(const std::string& what, std::vector<std::string> parts, std::vector<std::string> joints,
          std::vector<std::string> cautions, const std::string& tightness) {
  return {0, what, std::move(parts), std::move(joints), std::move(cautions), tightness};
}

}  // namespace

std::vector<Step> assembly_steps(const std::vector<PartReport>& parts, const std::vector<JointSolution>& joints) {
  std::vector<Step> steps;
  const auto plates = ids_of(parts, "adapter_plate"), shims = ids_of(parts, "shim"), spacers = ids_of(parts, "spacer");
  steps.push_back(step("Print one of each part, let it cool on the bed, and check it against its table with a caliper",
                       ids_of(parts, ""), {}, {"fine particles"}, ""));
  if (!plates.empty())
    steps.push_back(
        step("Press the inserts in with a hot iron, from the side on which their pockets open, flush or "
             "0.1 mm deep; clear plastic from the holes",
             plates, {}, {"hot iron"}, ""));
  steps.push_back(step("Screw the first rail down against its edge, every hole, in passes from the middle outward", {},
                       {}, {"carriage balls"}, "snug in the first pass; in the second as the base's material allows"));
  steps.push_back(step("Lay the second rail loosely, run a stiff flat bridge along both, and tighten where it stands",
                       {}, {}, {}, "as the first rail"));
  if (!plates.empty())
    steps.push_back(step("Screw the plates to the carriages, arrow and UP as marked" + where_each_goes(parts), plates,
                         joints_at(joints, "carriage"), {}, into_plastic));
  if (!plates.empty())
    steps.push_back(
        step("Set the frame on the plates, start all screws, tighten three, and measure the gap at the "
             "fourth before it is closed: shim it",
             shims, joints_at(joints, "insert"), {"screw reach"}, into_plastic));
  if (!spacers.empty())
    steps.push_back(step("Put the spacers under the bed's mounts and fit the bed loosely, so that heat may move it",
                         spacers, {}, {"hot bed"}, "one mount tight, the others free to slide"));
  if (!other_joints(joints).empty())
    steps.push_back(step("Fit the other joints", {}, other_joints(joints), {"screw reach"}, ""));
  steps.push_back(
      step("Restore the earth to frame and bed, clamp the bed's cable for the new stroke and height, set "
           "belt and end stops",
           {}, {}, {"mains", "earth path"}, ""));
  steps.push_back(
      step("Move the bed by hand, slowly and without power, over its whole travel; then home it once with "
           "a finger on the switch",
           {}, {}, {"pinch"}, ""));
  steps.push_back(step("Tighten again after a day and after ten hours of printing, and map the bed warm", {}, {},
                       {"unattended"}, "as before"));
  for (std::size_t i = 0; i < steps.size(); ++i) steps[i].n = static_cast<int>(i) + 1;
  return steps;
}

std::vector<Caution> cautions_for(const Kit& kit, const std::vector<PartReport>& parts,
                                  const std::vector<JointSolution>& joints) {
  std::vector<Caution> cautions;
  cautions.push_back(
      {"mains", "Unplug the machine, wait, and check that it is dead. Mains wiring is for a qualified person."});
  if (!ids_of(parts, "").empty())
    cautions.push_back({"earth path",
                        "Printed parts insulate bed and frame from earthed metal: give both a protective "
                        "earth of their own, relieved of strain, and have it tested."});
  for (const JointSolution& s : joints) {
    if (s.joint.anchor.blind || !s.joint.part.empty()) continue;
    const Behind& behind = s.joint.behind;
    if (!behind.known)
      cautions.push_back({s.joint.id, "Nobody has looked what this screw's tip would meet: stop and look first."});
    else if (behind.clear_mm && s.window_greatest_mm && s.pick_mm)
      cautions.push_back({s.joint.id, "The tip stays at least " +
                                          decimal(*s.window_greatest_mm + tip_clearance_mm - *s.pick_mm, 2) +
                                          " mm from " + behind.what + ": no longer screw, no missing washer."});
  }
  cautions.push_back({"screw reach",
                      "No screw may reach a supply, a board, wiring, a heater or a belt: check each tip "
                      "before power is on."});
  if (kit.bed)
    cautions.push_back({"hot bed", "The bed reaches " + decimal(kit.bed->max_temperature_c, 0) +
                                       " C: let it cool before you touch it, and keep printed parts off its heater."});
  cautions.push_back({"pinch",
                      "The moving bed pinches and crushes at its ends: end stops stay in place, first moves by "
                      "hand and without power."});
  cautions.push_back({"fine particles",
                      "Printing, sanding and cutting make particles you should not breathe: "
                      "ventilate, and wet-sand or wear a mask."});
  cautions.push_back({"unattended", "Stay beside the first hot soak and the first long print; have a smoke alarm."});
  cautions.push_back({"carriage balls",
                      "Keep each carriage on its rail or on the plastic dummy: the balls are small, "
                      "easily lost, and a hazard to eyes and children."});
  cautions.push_back({"all", last_word});
  return cautions;
}

}  // namespace bedwright
