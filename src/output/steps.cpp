#include "output/steps.h"

#include <algorithm>

#include "base/numbers.h"
#include "joints/clamp.h"

namespace bedwright {
namespace {

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

/// A screw that sits there now or that holds more than the kit's part has to come out, with care, and go back.
bool comes_out(const Joint& joint) {
  return joint.existing || (!joint.also_holds.empty() && joint.also_holds != "none");
}

std::vector<std::string> new_joints(const std::vector<JointSolution>& joints) {
  std::vector<std::string> ids;
  for (const JointSolution& s : joints)
    if (s.joint.part.empty() && !comes_out(s.joint) && s.joint.id != "rails") ids.push_back(s.joint.id);
  return ids;
}

std::string screw_text(const JointSolution& s) {
  return s.pick_mm ? s.joint.thread + "x" + decimal(*s.pick_mm, 1) : s.joint.thread + " (no stock length fits yet)";
}

/// "M3 0.08 to 0.12 N.m (...)" for each kind of screw among the joints.
std::string tightness_of(const std::vector<JointSolution>& joints, const std::vector<std::string>& ids) {
  std::vector<std::string> texts;
  for (const JointSolution& s : joints) {
    if (std::find(ids.begin(), ids.end(), s.joint.id) == ids.end()) continue;
    const Clamp clamp = clamp_of(s.joint);
    const std::string range = decimal(clamp.torque_least_nm, 2) + " to " + decimal(clamp.torque_greatest_nm, 2);
    const std::string text = s.joint.thread + " " + range + " N.m (" + clamp.source + ")";
    if (std::find(texts.begin(), texts.end(), text) == texts.end()) texts.push_back(text);
  }
  std::string all;
  for (const std::string& text : texts) all += (all.empty() ? "" : "; ") + text;
  return all;
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

/// How many screws the frame or the bed will cover, and of how many.
struct Covered {
  int screws = 0, covered = 0;
  std::string words() const {
    const std::string count =
        covered == screws ? "all " + std::to_string(screws) : std::to_string(covered) + " of " + std::to_string(screws);
    return count + " of these screws";
  }
};

Covered covered_by_frame(const std::vector<DriverPath>& paths) {
  Covered c;
  for (const DriverPath& path : paths)
    if (!path.fastens_frame) {
      ++c.screws;
      c.covered += path.under_frame ? 1 : 0;
    }
  return c;
}

Covered covered_by_bed(const std::vector<DriverPath>& paths) {
  Covered c;
  for (const DriverPath& path : paths)
    if (path.fastens_frame) {
      ++c.screws;
      c.covered += path.under_bed ? 1 : 0;
    }
  return c;
}

std::string after(const Covered& covered, const char* what) {
  if (covered.covered == 0) return "";
  return std::string(". This comes before ") + what + ", which covers " + covered.words();
}

/// What retightening takes apart.
std::string reached_again(const std::vector<DriverPath>& paths) {
  const Covered frame = covered_by_frame(paths), bed = covered_by_bed(paths);
  std::string text;
  if (bed.covered > 0) text += "; for the frame's screws lift the bed off";
  if (frame.covered > 0) text += "; for the carriages' screws the frame has to come off too";
  return text;
}

Step step(const std::string& what, std::vector<std::string> parts, std::vector<std::string> joints,
          std::vector<std::string> cautions, const std::string& tightness) {
  return {0, what, std::move(parts), std::move(joints), std::move(cautions), tightness, "", ""};
}

/// Three steps for a screw that comes out: make it safe, take it out, put it back with a check of its own.
void exchange(const JointSolution& s, const std::vector<JointSolution>& joints, std::vector<Step>& steps) {
  const Joint& joint = s.joint;
  const bool holds = !joint.also_holds.empty() && joint.also_holds != "none";
  steps.push_back(
      step("Before the screw of " + joint.id + " comes out: unplug the machine, wait, verify that it is dead, " +
               "open the cover" +
               (holds ? ", and support what it also holds: " + joint.also_holds : ", and look what else it holds") +
               ". What is on the mains is for a qualified person",
           {}, {joint.id}, {"mains"}, ""));
  steps.push_back(step(
      "Take the screw of " + joint.id + " out" + (joint.count > 1 ? ", one after the other" : "") +
          (holds ? "; what it also holds stays supported" : "") +
          (joint.existing ? ". Measure it: it should be " + joint.thread + "x" + decimal(joint.existing->length_mm, 1)
                          : ""),
      {}, {joint.id}, {}, ""));
  std::string check = ". Screw check: the clamped stack measures " + decimal(s.grip_least_mm, 2) + " to " +
                      decimal(s.grip_greatest_mm, 2) + " mm";
  if (s.ok) check += ", " + decimal(s.engagement_turns, 1) + " turns hold at least";
  if (s.tip_free_mm)
    check += ", the tip stays " + decimal(*s.tip_free_mm, 2) + " mm short of " +
             (joint.anchor.blind ? std::string("the bottom") : joint.behind.what);
  if (!joint.behind.known) check += ", and nobody knows what is behind: stop and look";
  steps.push_back(step(
      "Put " + joint.id + " back with " + screw_text(s) + (holds ? ", together with what it also holds" : "") + check,
      {}, {joint.id}, {"screw reach"}, tightness_of(joints, {joint.id})));
}

/// Screws that are left out.
std::string rail_words(const MachineAnswers* answers) {
  std::string text;
  if (answers)
    for (const RailLine& line : answers->rails)
      for (const RailScrew& s : line.screws)
        if (!s.usable)
          text +=
              (text.empty() ? "; leave out, counted from the front: " : ", ") + line.side + " " + std::to_string(s.n);
  return text;
}

std::string plate_tightness(const std::string& reference) {
  return reference.empty() ? ""
                           : "tight on the " + reference + " rail, snug on the other until the frame has been run: ";
}

std::string mount_words(const MachineAnswers* answers) {
  if (!answers || !answers->constraints.fixed_mount) return "one mount tight, the others free to slide";
  std::string text = *answers->constraints.fixed_mount + " tight, the others free to slide";
  for (const MountRole& m : answers->constraints.mounts)
    if (m.slot_mm > 0) text += "; " + m.id + " needs its slot, " + decimal(m.slot_mm, 1) + " mm long";
  return text;
}

std::string homing_words(const MachineAnswers* answers) {
  if (!answers || !answers->heights.nozzle) return ", the nozzle raised by hand first";
  const HeightPlan& h = answers->heights;
  const double least = h.nozzle->sum_mm() - h.nozzle->worst_mm();
  if (least >= 0) return "; by the heights the nozzle stays " + decimal(least, 2) + " mm clear at least";
  return "; FIRST raise the Z limit by " + decimal(-least, 1) + " mm and more: the bed is " + rise_words(h);
}

/// What is fixed on the machine's base.
std::vector<std::string> standing_parts(const std::vector<PartReport>& parts) {
  std::vector<std::string> ids;
  for (const PartReport& p : parts)
    if (p.part.stands_at) ids.push_back(p.part.id);
  return ids;
}

bool stands(const std::vector<PartReport>& parts, const Joint& joint) {
  return std::any_of(parts.begin(), parts.end(),
                     [&](const PartReport& p) { return p.part.stands_at && p.part.id == joint.part; });
}

/// Through a rail into a part that stands on the base.
bool holds_rails(const std::vector<PartReport>& parts, const Joint& joint) {
  return stands(parts, joint) && !joint.layers.empty() && joint.layers.front().name == "rail";
}

/// Brackets: halves together, onto the base, level with it, tight.
void add_standing_steps(const std::vector<PartReport>& parts, const std::vector<JointSolution>& joints,
                        std::vector<Step>& steps) {
  std::vector<std::string> halves, halved, to_base;
  for (const PartReport& p : parts)
    if (!p.part.bought.empty() && p.part.stands_at) halved.push_back(p.part.id);
  for (const JointSolution& s : joints) {
    if (!stands(parts, s.joint) || holds_rails(parts, s.joint)) continue;
    const bool printed_alone = std::all_of(s.joint.layers.begin(), s.joint.layers.end(),
                                           [](const JointLayer& l) { return l.printed; });
    (s.joint.anchor.kind == "nut" && printed_alone && s.joint.layers.size() > 1 ? halves : to_base)
        .push_back(s.joint.id);
  }
  if (!halves.empty())
    steps.push_back(step("Put the halves of each bracket together on a flat plate: pins in, nut in, screw snug, then tight",
                         halved, halves, {}, tightness_of(joints, halves)));
  steps.push_back(step("Set the brackets on the ends of the base, arrows to the front and UP up, all screws snug; lay a "
                       "straight bar over base and pads, bring the pads level with where the rails lie, then tighten",
                       standing_parts(parts), to_base, {"screw reach"}, tightness_of(joints, to_base)));
  steps.back().feel = "no light under the bar over base and pads, and no step to feel with a fingernail";
}

}  // namespace

std::vector<Step> assembly_steps(const std::vector<PartReport>& parts, const std::vector<JointSolution>& joints,
                                 const std::vector<DriverPath>& paths, const MachineAnswers* answers) {
  std::vector<Step> steps;
  const auto plates = ids_of(parts, "adapter_plate"), shims = ids_of(parts, "shim"), spacers = ids_of(parts, "spacer");
  steps.push_back(step("Print one of each part, let it cool on the bed, and check it against its table with a caliper",
                       ids_of(parts, ""), {}, {"fine particles"}, ""));
  if (!plates.empty())
    steps.push_back(
        step("Press the inserts in with a hot iron, from the side on which their pockets open, flush or "
             "0.1 mm deep; clear plastic from the holes",
             plates, {}, {"hot iron"}, ""));
  steps.push_back(
      step("Before you open or take apart anything: switch the machine off, unplug it, wait, verify that it is "
           "dead, and let the bed cool. It stays unplugged until a step below says otherwise",
           {}, {}, {"mains", "hot bed"}, ""));
  const auto standing = standing_parts(parts);
  if (!standing.empty()) add_standing_steps(parts, joints, steps);
  std::vector<std::string> rails;
  for (const JointSolution& s : joints)
    if (s.joint.id == "rails" || holds_rails(parts, s.joint)) rails.push_back(s.joint.id);
  const std::string reference = answers && answers->constraints.reference ? *answers->constraints.reference : "";
  const std::string first = reference.empty() ? "first rail" : reference + " rail, the reference,";
  steps.push_back(step("Screw the " + first + " down against its edge, every hole, in passes from the middle outward" +
                           rail_words(answers),
                       {}, rails, {"carriage balls"},
                       "snug in the first pass; in the second as the base's material allows" +
                           (rails.empty() ? "" : ": " + tightness_of(joints, rails))));
  steps.back().feel = "run both carriages over the whole rail after each pass: the same light drag everywhere";
  steps.push_back(step("Lay the second rail loosely, run a stiff flat bridge along both, and tighten where it stands",
                       {}, {}, {}, "as the first rail"));
  steps.back().feel = "run the bridge from end to end after each screw; loosen the last one where it binds";
  const auto to_carriage = joints_at(joints, "carriage"), to_frame = joints_at(joints, "insert");
  if (!plates.empty()) {
    steps.push_back(step("Screw the plates to the carriages, arrow and UP as marked" + where_each_goes(parts) +
                             after(covered_by_frame(paths), "the frame"),
                         plates, to_carriage, {}, plate_tightness(reference) + tightness_of(joints, to_carriage)));
    steps.push_back(
        step("Set the frame on the plates, start all screws, tighten three, and measure the gap at the "
             "fourth before it is closed: shim it" +
                 after(covered_by_bed(paths), "the bed"),
             shims, to_frame, {"screw reach"}, "snug all, then tight one by one: " + tightness_of(joints, to_frame)));
    steps.back().feel =
        "move the frame over its whole travel after each screw: the screw that adds drag is the one to shim";
  }
  if (!spacers.empty())
    steps.push_back(step("Put the spacers under the bed's mounts and fit the bed loosely, so that heat may move it",
                         spacers, {}, {"hot bed"}, mount_words(answers)));
  for (const JointSolution& s : joints)
    if (s.joint.part.empty() && comes_out(s.joint)) exchange(s, joints, steps);
  const auto others = new_joints(joints);
  if (!others.empty())
    steps.push_back(step("Fit the other joints", {}, others, {"screw reach"}, tightness_of(joints, others)));
  steps.push_back(
      step("Restore the earth to frame and bed, clamp the bed's cable for the new stroke and height, set "
           "belt and end stops",
           {}, {}, {"mains", "earth path"}, ""));
  steps.push_back(step("Move the bed by hand, slowly and without power, over its whole travel", {}, {}, {"pinch"}, ""));
  steps.back().feel = "no change in drag, nothing touches, belt level at both ends, the switch clicks before the stop";
  for (Step& s : steps) s.machine = "off, unplugged, cold";
  // Printing and pressing inserts are done elsewhere.
  for (Step& s : steps) {
    if (s.what.rfind("Before you open", 0) == 0) break;
    s.machine = "";
  }
  steps.push_back(step("Plug it in and home it once with a finger on the switch" + homing_words(answers), {}, {},
                       {"pinch", "screw reach"}, ""));
  steps.back().machine = "on, watched";
  steps.push_back(
      step("Tighten again after a day and after ten hours of printing, and map the bed warm" + reached_again(paths), {},
           {}, {"unattended"}, "as before"));
  steps.back().machine = "off, unplugged, cold; then on for the map";
  for (std::size_t i = 0; i < steps.size(); ++i) steps[i].n = static_cast<int>(i) + 1;
  return steps;
}

std::vector<ServiceLine> service_card(const Kit& kit, const MachineAnswers& answers) {
  std::vector<ServiceLine> card;
  card.push_back(
      {"before power", "run the bed by hand over its whole length twenty times; wipe off what the wipers push out"});
  const double strokes = kit.rails.travel_mm, body = kit.carriages.size.length_mm;
  card.push_back(
      {"first print", "stay beside it, with a thin print at the front, the middle and the rear; hand on the switch"});
  card.push_back({"first hot soak",
                  "stay beside it for an hour at " +
                      (kit.bed ? decimal(kit.bed->max_temperature_c, 0) + " C" : std::string("the hottest bed")) +
                      ", and measure how warm the frame gets at a plate (heat.frame_c)"});
  card.push_back({"after a day",
                  "tighten every screw again, warm parts cold: printed layers settle; frame and bed come off for those "
                  "they cover"});
  card.push_back({"after ten hours", "tighten again; make a new warm bed map and level from it"});
  card.push_back(
      {"then", answers.mass.before_g
                   ? "measure the machine's vibration compensation again where it has one: the moving mass went from " +
                         decimal(*answers.mass.before_g, 0) + " to about " + decimal(answers.mass.after_g, 0) + " g"
                   : std::string("measure the machine's vibration compensation again where it has one: the moving "
                                 "mass has changed")});
  card.push_back({"every ten hours of short prints",
                  "one full-length stroke by hand" +
                      (strokes > 0 ? ": prints that move the bed less than " + decimal(2 * body, 0) +
                                         " mm, two carriage lengths, do not spread the oil (makers' manual)"
                                   : std::string())});
  card.push_back({"every 100 hours",
                  "wipe rails and grooves with a lint-free cloth, oil again lightly; by hours and feel, the interval "
                  "has a weak source"});
  card.push_back({"every service",
                  "look at printed parts for cracks, at the cable where it bends, at the earth wire; feel the run"});
  return card;
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
    else if (behind.clear_mm && s.tip_free_mm)
      cautions.push_back({s.joint.id, "The tip stays at least " + decimal(*s.tip_free_mm, 2) + " mm from " +
                                          behind.what + ": no longer screw, no missing washer."});
  }
  cautions.push_back({"screw reach",
                      "No screw may reach a supply, a board, wiring, a heater or a belt: check each tip "
                      "before power is on."});
  if (kit.bed)
    cautions.push_back({"hot bed", "The bed reaches " + decimal(kit.bed->max_temperature_c, 0) +
                                       " C: let it cool before you touch it, and keep printed parts off its heater."});
  cautions.push_back({"pinch",
                      "The moving bed pinches and crushes at its ends: end stops stay in place, first moves by "
                      "hand, slowly (a fast push feeds the driver) and without power."});
  cautions.push_back({"homing",
                      "Never home or probe with the steel sheet off the bed: a probe that senses metal does not "
                      "stop, and the nozzle meets what is below."});
  if (kit.bed)
    cautions.push_back({"bed cable",
                        "New travel and height bend the bed's cable anew: look at bend, clamp and ends now and "
                        "after ten hours; a wire that breaks there starts fires."});
  cautions.push_back({"fine particles",
                      "Printing, sanding and cutting make particles you should not breathe: "
                      "ventilate, and wet-sand or wear a mask."});
  cautions.push_back({"unattended", "Stay beside the first hot soak and the first long print; have a smoke alarm."});
  cautions.push_back({"carriage balls",
                      "Keep each carriage on its rail or on the plastic dummy: the balls are small, "
                      "easily lost, and a hazard to eyes and children."});
  cautions.push_back({"edges and oil",
                      "Sheet, shim stock and cut rail are sharp: deburr, wear gloves. Thread locker and some oils "
                      "crack plastic: keep them off printed parts, bed and belt."});
  cautions.push_back({"loads",
                      "Nothing here carries people or lifts anything: look at printed parts for cracks at each "
                      "service."});
  cautions.push_back({"all", last_word});
  return cautions;
}

}  // namespace bedwright
