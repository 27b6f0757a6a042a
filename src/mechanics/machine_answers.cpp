#include "mechanics/machine_answers.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "kit/hardware.h"

namespace bedwright {
namespace {

void add_rocking(const Kit& kit, MachineAnswers& a) {
  const auto front = std::find_if(a.rocking.points.begin(), a.rocking.points.end(),
                                  [](const RockingPoint& p) { return p.id == "front"; });
  if (front == a.rocking.points.end()) return;
  const std::string range = "rigid plates and rails, small angles; play alone";
  a.figures.push_back({"lift-front-after", "lift of the bed's front edge at the nozzle", front->after.lift_um, "um",
                       "play x arm / carriage spacing = " + decimal(kit.carriages.clearance_um, 1) + " x " +
                           decimal(-front->at.y, 1) + " / " + decimal(a.rocking.after_along_mm, 1),
                       "elementary statics", range, true});
  a.figures.push_back({"lean-after", "shift to front and rear at the print's height", front->after.along_um, "um",
                       "play x height / carriage spacing, height " + decimal(a.rocking.print_height_mm, 0) + " mm",
                       "elementary statics", range, true});
  if (!front->before) return;
  a.figures.push_back({"lift-front-before", "the same lift with the old bearings", front->before->lift_um, "um",
                       "play x arm / old base = " + decimal(kit.before->play_um, 1) + " x " + decimal(-front->at.y, 1) +
                           " / " + decimal(a.rocking.before_along_mm, 1),
                       "elementary statics", range, true});
  a.figures.push_back({"lean-before", "the same lean with the old bearings", front->before->along_um, "um",
                       "play x height / old base", "elementary statics", range, true});
}

void add_rails(MachineAnswers& a) {
  for (const RailBending& b : a.bending) {
    if (b.first_hz <= 0) continue;
    const std::string range = "sag below half the rail's height, slope below 0.01; no shear, no play of its screws";
    a.figures.push_back(
        {"rail-sag-" + b.side, "greatest sag of the " + b.side + " rail under a carriage", b.sag_mm, "mm",
         "beam on the base's edges, screws and pads; E I = E x 0.7 x width x height^3 / 12, load " +
             decimal(b.load_n, 2) + " N a carriage",
         "beam theory, any strength-of-materials text; 0.7 is common practice, no source", range, b.small_deflection});
    a.figures.push_back({"rail-hz-" + b.side, "first frequency of the " + b.side + " rail with its carriages",
                         b.first_hz, "Hz", "lowest root of K - w^2 M of the same beam", "beam theory", range,
                         b.small_deflection});
    a.figures.push_back(
        {"rail-height-share-" + b.side, "of the makers' height limit along the " + b.side + " rail", b.used_percent(),
         "%", "difference of sag between its two carriages over V x spacing = " + decimal(b.limit_mm, 4) + " mm",
         "guideway makers' manuals, excerpts", "sizes 7 to 15", true});
  }
}

void add_motion(const Kit& kit, MachineAnswers& a) {
  if (a.mass.before_g && a.parts_made && a.mass.complete)
    a.figures.push_back(
        {"ringing-ratio", "ringing frequency, after over before", ringing_ratio(*a.mass.before_g, a.mass.after_g), "",
         "sqrt(moving mass before / after) = sqrt(" + decimal(*a.mass.before_g, 0) + " / " +
             decimal(a.mass.after_g, 0) + ")",
         "mechanics", "same belt and frame stiffness, one spring and mass govern; the print counts too", true});
  if (!kit.drive) return;
  const double k =
      belt_stiffness_n_mm(kit.drive->belt_unit_strain_n, kit.drive->belt_spans_mm.x, kit.drive->belt_spans_mm.y);
  a.figures.push_back({"belt-stiffness", "stiffness of the belt at the bed", k, "N/mm",
                       "EA (1 / L1 + 1 / L2) = " + decimal(kit.drive->belt_unit_strain_n, 0) + " x (1 / " +
                           decimal(kit.drive->belt_spans_mm.x, 0) + " + 1 / " + decimal(kit.drive->belt_spans_mm.y, 0) +
                           ")",
                       "mechanics; EA from memory, 8000 to 15000 N for 6 mm with glass cords",
                       "both spans stay tight; pulleys and frame rigid", true});
  if (a.diagnosis.belt_hz_before)
    a.figures.push_back({"belt-hz-before", "the old bed on its belt", *a.diagnosis.belt_hz_before, "Hz",
                         "sqrt(k / m) / (2 pi)", "mechanics",
                         "the bed alone on its belt; no better than EA is known, about a sixth", true});
  if (a.diagnosis.belt_hz_after)
    a.figures.push_back({"belt-hz-after", "the new bed on its belt", *a.diagnosis.belt_hz_after, "Hz",
                         "sqrt(k / m) / (2 pi)", "mechanics",
                         "the bed alone on its belt; no better than EA is known, about a sixth", true});
}

void add_heat(const Kit& kit, const std::vector<PrintedPart>& parts, MachineAnswers& a) {
  if (!kit.bed) return;
  const Material* bed = find_material(kit.bed->material);
  const double rise = std::max(0.0, kit.bed->max_temperature_c - kit.heat.room_c);
  double longest = 0;
  for (const MountRole& m : a.constraints.mounts) longest = std::max(longest, length(m.growth_mm));
  if (bed && rise > 0) {
    const double side = std::max(kit.bed->size_mm.x, kit.bed->size_mm.y);
    a.figures.push_back({"bed-growth", "growth of the bed's longer side", growth_mm(bed->expansion_per_k, side, rise),
                         "mm",
                         "expansion x length x rise = " + decimal(bed->expansion_per_k * 1e6, 1) + "e-6 x " +
                             decimal(side, 0) + " x " + decimal(rise, 0),
                         "handbook expansion", "free to grow, one temperature all through", true});
  }
  if (rise > 0 && !a.constraints.mounts.empty())
    a.figures.push_back({"mount-growth", "greatest slide of a mount, bed against frame", longest, "mm",
                         "(bed expansion x its rise - frame expansion x its rise) x distance from the " +
                             std::string(a.constraints.fixed_mount ? "fixed mount" : "mounts' middle"),
                         "handbook expansions", "bed and frame free, each of one temperature", true});
  a.figures.push_back(
      {"across-growth", "growth of the frame against the base between the rails", a.constraints.across_growth_mm, "mm",
       "rail pitch x (frame expansion x its rise - base expansion x the base's rise)", "handbook expansions",
       "a base of " + (kit.base ? kit.base->material : std::string("steel")) +
           "; base and frame each of one temperature",
       true});
  for (const PrintedPart& p : parts) {
    const Material* m = find_material(p.material);
    const bool warm = p.family == "adapter_plate" || p.family == "support_plate", hot = p.family == "spacer";
    if (!m || (!warm && !hot)) continue;
    const double at = hot ? kit.bed->max_temperature_c : kit.heat.frame_c;
    a.figures.push_back(
        {"softening-margin-" + p.id, "softening of " + p.id + " above where it sits", m->softening_c - at, "K",
         p.material + " " + decimal(m->softening_c, 0) + " C (0.45 MPa) - " + decimal(at, 0) + " C " +
             (hot ? "at the bed" : "at the frame"),
         "ISO 75, low end of a published range", "short loads; plastic creeps well below", m->softening_c > at});
  }
}

}  // namespace

MachineAnswers machine_answers(const Kit& kit, const Layout& layout, const std::vector<PrintedPart>& parts) {
  MachineAnswers a;
  a.parts_made = !parts.empty();
  a.heights = height_plan(kit, layout);
  a.constraints = constraint_plan(kit, layout);
  a.rails = rail_lines(kit, layout);
  a.mass = moving_mass(kit, parts);
  for (const RailLine& line : a.rails) {
    // Most machines have two rails alike, and a beam's modes take time.
    const bool again = !a.bending.empty() && bend_alike(a.rails.front(), line);
    a.bending.push_back(again ? a.bending.front() : rail_bending(kit, layout, line, a.mass.after_g));
    a.bending.back().side = line.side;
  }
  a.rocking = rocking_map(kit);
  a.diagnosis = diagnose(kit, a.rocking, a.mass.before_g.value_or(0), a.mass.complete ? a.mass.after_g : 0);
  add_rocking(kit, a);
  add_rails(a);
  add_motion(kit, a);
  add_heat(kit, parts, a);
  return a;
}

std::vector<Finding> machine_findings(const MachineAnswers& a) {
  std::vector<Finding> findings;
  for (const RailBending& b : a.bending) {
    if (b.first_hz <= 0 || b.used_percent() <= 100) continue;
    findings.push_back({"rail-sag",
                        Severity::warning,
                        "",
                        "",
                        "where nothing backs the " + b.side + " rail it sags " + decimal(b.sag_mm, 3) +
                            " mm under a carriage at y = " + decimal(b.at_y_mm, 1) + "; its two carriages differ by " +
                            decimal(b.difference_mm, 4) + " mm, " + decimal(b.used_percent(), 0) +
                            " % of what the makers allow",
                        b.difference_mm,
                        b.limit_mm,
                        "mm",
                        b.middle_support_mm ? "support it at y = " + decimal(*b.middle_support_mm, 1) +
                                                  " too: " + decimal(b.with_support_mm, 4) + " mm are left then"
                                            : "stiffer pads, or a shorter gap",
                        {{b.side + " rail"}}});
  }
  if (a.diagnosis.verdict == "not-play" || a.diagnosis.verdict == "ringing")
    findings.push_back({"not-cured", Severity::warning, "", "", a.diagnosis.words.front(), 0, 0, "",
                        a.diagnosis.verdict == "ringing"
                            ? "compensate it where the machine can, slow down at corners, or save moving mass"
                            : "find that fault first; keep the proof piece to compare"});
  if (a.parts_made && a.mass.complete && a.mass.before_g) {
    const double before = *a.mass.before_g, after = a.mass.after_g;
    findings.push_back({"moving-mass",
                        Severity::note,
                        "",
                        "",
                        decimal(before, 0) + " g moved before, " + decimal(after, 0) +
                            " g after without screws: ringing at " + decimal(ringing_ratio(before, after), 3) +
                            " times the frequency (square root of the masses)",
                        after,
                        before,
                        "g",
                        "measure the machine's vibration compensation again; no margin against lost steps is promised",
                        {{"frame"}, {"bed"}}});
  }
  return findings;
}

}  // namespace bedwright
