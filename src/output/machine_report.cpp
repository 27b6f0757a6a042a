#include "output/machine_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "output/report.h"
#include "output/wrapped.h"

namespace bedwright {
namespace {

Json or_null(const std::optional<double>& value) {
  return value ? Json(rounded_6(*value)) : Json(nullptr);
}

Json stack_json(const std::optional<HeightStack>& s) {
  if (!s) return nullptr;
  Json terms = Json::array();
  for (const HeightTerm& t : s->terms)
    terms.push_back({{"name", t.name},
                     {"mm", rounded_length(t.mm)},
                     {"plus_minus_mm", rounded_length(t.plus_minus_mm)},
                     {"source", t.source}});
  return {{"sum_mm", rounded_length(s->sum_mm())},
          {"worst_mm", rounded_length(s->worst_mm())},
          {"rss_mm", rounded_length(s->rss_mm())},
          {"terms", terms}};
}

Json heights_json(const HeightPlan& h) {
  return {{"frame", stack_json(h.frame)},
          {"bed", stack_json(h.bed)},
          {"rise", stack_json(h.rise)},
          {"belt", stack_json(h.belt)},
          {"flag", stack_json(h.flag)},
          {"nozzle_gap", stack_json(h.nozzle)},
          {"mounts_differ_mm", rounded_length(h.mounts_differ_mm)},
          {"wanted_mm", or_null(h.wanted_mm)},
          {"spacer_mm", or_null(h.spacer_mm)},
          {"plate_change_mm", or_null(h.plate_change_mm)},
          {"missing", h.missing}};
}

Json constraints_json(const ConstraintPlan& c) {
  Json plates = Json::array(), mounts = Json::array(), pads = Json::array();
  for (const PlateRole& p : c.plates)
    plates.push_back({{"part", p.part},
                      {"placement", p.placement},
                      {"places", p.places},
                      {"slot_mm", rounded_length(p.extra_mm)},
                      {"slot_axis", p.along_y ? "y" : "x"},
                      {"across_left_mm", rounded_length(p.across_left_mm)},
                      {"along_left_mm", rounded_length(p.along_left_mm)},
                      {"frame_left_mm", rounded_length(p.frame_left_mm)}});
  for (const MountRole& m : c.mounts)
    mounts.push_back({{"id", m.id},
                      {"at_mm", point_json(m.at)},
                      {"fixed", m.fixed},
                      {"growth_mm", point_json(m.growth_mm)},
                      {"room_mm", or_null(m.room_mm)},
                      {"slot_mm", rounded_length(m.slot_mm)}});
  for (const PadStep& s : c.pads)
    pads.push_back(
        {{"between", {placement_ids[static_cast<std::size_t>(s.a)], placement_ids[static_cast<std::size_t>(s.b)]}},
         {"difference_mm", rounded_length(s.mm)},
         {"limit_mm", rounded_length(s.limit_mm)},
         {"used_percent", rounded_6(s.used_percent())}});
  Json shims = Json::array();
  if (!c.pads.empty())
    for (const double s : c.pad_shim_mm) shims.push_back(rounded_length(s));
  return {{"reference", c.reference ? Json(*c.reference) : Json(nullptr)},
          {"plates", plates},
          {"fixed_mount", c.fixed_mount ? Json(*c.fixed_mount) : Json(nullptr)},
          {"mounts", mounts},
          {"across_growth_mm", rounded_length(c.across_growth_mm)},
          {"pads", pads},
          {"pad_shim_mm", shims}};
}

Json rail_json(const RailLine& line, const RailBending& b) {
  Json screws = Json::array(), gaps = Json::array(), lost = Json::array();
  for (const RailScrew& s : line.screws)
    screws.push_back({{"n", s.n}, {"y_mm", rounded_length(s.y_mm)}, {"usable", s.usable}, {"why", s.why}});
  for (const RailGap& g : line.gaps)
    gaps.push_back(
        {{"from_mm", rounded_length(g.from_mm)}, {"to_mm", rounded_length(g.to_mm)}, {"overhang", g.overhang}});
  for (const ScrewCost& c : b.lost)
    lost.push_back({{"n", c.n}, {"sag_mm", rounded_6(c.sag_mm)}, {"first_hz", rounded_6(c.first_hz)}});
  return {{"side", line.side},
          {"x_mm", rounded_length(line.x_mm)},
          {"base_known", line.base_known},
          {"screws", screws},
          {"usable", line.usable()},
          {"gaps", gaps},
          {"load_n", rounded_6(b.load_n)},
          {"sag_mm", rounded_6(b.sag_mm)},
          {"slope", rounded_6(b.slope)},
          {"difference_mm", rounded_6(b.difference_mm)},
          {"limit_mm", rounded_length(b.limit_mm)},
          {"used_percent", rounded_6(b.used_percent())},
          {"first_hz", b.first_hz > 0 ? Json(rounded_6(b.first_hz)) : Json(nullptr)},
          {"small_deflection", b.small_deflection},
          {"front_screws", b.front_screws},
          {"rear_screws", b.rear_screws},
          {"least_screws", least_screws_at_an_end},
          {"lost", lost},
          {"middle_support_mm", or_null(b.middle_support_mm)},
          {"with_support_mm", b.middle_support_mm ? Json(rounded_6(b.with_support_mm)) : Json(nullptr)}};
}

Json rocking_json(const RockingAt& r) {
  return {{"lift_um", rounded_6(r.lift_um)},
          {"along_um", rounded_6(r.along_um)},
          {"sideways_um", rounded_6(r.sideways_um)}};
}

Json diagnosis_json(const Diagnosis& d) {
  return {{"verdict", d.verdict},
          {"words", d.words},
          {"ripple_hz", or_null(d.ripple_hz)},
          {"belt_hz_before", or_null(d.belt_hz_before)},
          {"belt_hz_after", or_null(d.belt_hz_after)},
          {"not_cured", d.not_cured}};
}

Json mass_json(const MachineAnswers& a) {
  Json terms = Json::array();
  for (const MassTerm& t : a.mass.terms)
    terms.push_back({{"name", t.name},
                     {"quantity", t.quantity},
                     {"each_g", t.known ? Json(rounded_6(t.each_g)) : Json(nullptr)},
                     {"moves", t.moves}});
  return {{"terms", terms},
          {"after_g", rounded_6(a.mass.after_g)},
          {"before_g", or_null(a.mass.before_g)},
          {"complete", a.mass.complete && a.parts_made}};
}

std::string plus_minus(const HeightStack& s) {
  return "+-" + decimal(s.worst_mm(), 2) + " mm at worst, +-" + decimal(s.rss_mm(), 2) + " RSS";
}

std::string signed_mm(double v) {
  return (v < 0 ? "-" : "+") + decimal(std::fabs(v), 2);
}

std::string stack_lines(const HeightStack& s) {
  std::string text;
  for (const HeightTerm& t : s.terms)
    text += fmt::format("    {:>8} mm  {}{}\n", signed_mm(t.mm), t.name,
                        t.plus_minus_mm > 0 ? ", +-" + decimal(t.plus_minus_mm, 3) : "");
  return text;
}

std::string heights_text(const HeightPlan& h) {
  std::string text = "Heights above the base's face\n";
  if (h.bed) {
    text += stack_lines(*h.bed);
    text += fmt::format("    {:>8} mm  top of the bed, {}\n", decimal(h.bed->sum_mm(), 2), plus_minus(*h.bed));
  } else {
    text += stack_lines(h.frame);
    text += fmt::format("    {:>8} mm  top of the frame at the mounts, {}\n", decimal(h.frame.sum_mm(), 2),
                        plus_minus(h.frame));
  }
  if (h.mounts_differ_mm > 0.005)
    text += wrapped(
        "  ",
        "the frame's dome makes the mounts differ by " + decimal(h.mounts_differ_mm, 2) + " mm: level takes it up.", 4);
  if (h.spacer_mm)
    text += wrapped(
        "  ",
        "wanted " + decimal(*h.wanted_mm, 2) + " mm: the spacers become " + decimal(*h.spacer_mm, 2) + " mm thick.", 4);
  if (h.rise)
    text +=
        wrapped("  ", "against the old bed: " + signed_mm(h.rise->sum_mm()) + " mm (" + plus_minus(*h.rise) + ").", 4);
  if (h.belt)
    text += wrapped(
        "  ", "belt's clamp against its line: " + signed_mm(h.belt->sum_mm()) + " mm (" + plus_minus(*h.belt) + ").",
        4);
  if (h.flag)
    text += wrapped("  ",
                    "switch's flag: " + signed_mm(h.flag->sum_mm()) + " mm; set it " +
                        decimal(std::fabs(h.flag->sum_mm()), 2) + (h.flag->sum_mm() > 0 ? " mm lower" : " mm higher") +
                        " on the frame.",
                    4);
  if (h.nozzle)
    text += wrapped(
        "  ",
        "nozzle over the bed, homed as before: " + signed_mm(h.nozzle->sum_mm()) + " mm (" + plus_minus(*h.nozzle) +
            ")" +
            (h.nozzle->sum_mm() - h.nozzle->worst_mm() < 0 ? ": raise the Z limit before the first homing." : "."),
        4);
  for (const std::string& m : h.missing) text += wrapped("  not told: ", m, 4);
  return text;
}

std::string screws_text(const RailLine& line) {
  std::string good, bad;
  for (const RailScrew& s : line.screws) {
    if (s.usable)
      good += (good.empty() ? "" : ", ") + decimal(s.y_mm, 1);
    else
      bad += (bad.empty() ? "" : "; ") + std::to_string(s.n) + " at y = " + decimal(s.y_mm, 1) + " (" + s.why + ")";
  }
  std::string text = wrapped("  " + line.side + ": ",
                             std::to_string(line.usable()) + " of " + std::to_string(line.screws.size()) +
                                 " screws can be used, at y = " + good + ".",
                             4);
  if (!bad.empty()) text += wrapped("    not: ", bad + ".", 6);
  return text;
}

std::string um(double mm) {
  return decimal(1000 * mm, 2) + " um";
}

std::string gaps_text(const RailLine& line) {
  std::string list;
  for (const RailGap& g : line.gaps)
    list += (list.empty() ? "" : "; ") + std::string(g.overhang ? "overhang" : "span") + " of " +
            decimal(g.to_mm - g.from_mm, 1) + " mm, y " + decimal(g.from_mm, 1) + " to " + decimal(g.to_mm, 1);
  return list;
}

std::string lost_text(const RailBending& b) {
  std::string list;
  for (const ScrewCost& c : b.lost)
    list +=
        (list.empty() ? "" : "; ") + std::to_string(c.n) + ": " + um(c.sag_mm) + ", " + decimal(c.first_hz, 0) + " Hz";
  return list;
}

std::string rail_text(const RailLine& line, const RailBending& b) {
  std::string text = screws_text(line);
  if (!line.gaps.empty()) text += wrapped("    ", "nothing under it: " + gaps_text(line) + ".", 6);
  if (b.first_hz > 0)
    text +=
        wrapped("    ",
                "as a beam under " + decimal(b.load_n, 1) + " N a carriage it sags " + um(b.sag_mm) +
                    " at y = " + decimal(b.at_y_mm, 1) + ", slope " + decimal(1000 * b.slope, 3) +
                    " mm a metre, and first rings at " + decimal(b.first_hz, 0) + " Hz; its carriages differ by " +
                    um(b.difference_mm) + ", " + decimal(b.used_percent(), 0) + " % of the makers' limit along a rail" +
                    (b.small_deflection ? "." : "; MORE THAN SMALL DEFLECTIONS: not good for more than a warning."),
                6);
  if (!b.lost.empty()) text += wrapped("    ", "with one screw less, " + lost_text(b) + ".", 6);
  if (b.middle_support_mm)
    text += wrapped(
        "    ", "a support at y = " + decimal(*b.middle_support_mm, 1) + " leaves " + um(b.with_support_mm) + ".", 6);
  if (line.base_known)
    text += wrapped("    ",
                    std::to_string(b.front_screws) + " usable screws in the front stretch, " +
                        std::to_string(b.rear_screws) + " in the rear one; at least " +
                        std::to_string(least_screws_at_an_end) + " each.",
                    6);
  return text;
}

std::string rails_text(const MachineAnswers& a) {
  std::string text = "Rails\n", first;
  for (std::size_t i = 0; i < a.rails.size(); ++i) {
    const std::string one = rail_text(a.rails[i], a.bending[i]);
    const std::string body = one.substr(one.find(": "));
    text += i > 0 && body == first ? "  " + a.rails[i].side + ": the same\n" : one;
    if (i == 0) first = body;
  }
  if (!a.rails.empty() && !a.rails.front().base_known)
    text += wrapped("  ", "the kit has no base outline (base): the rails count as backed all along.", 4);
  return text;
}

std::string rocking_text(const MachineAnswers& a) {
  const RockingMap& m = a.rocking;
  std::string text = fmt::format("Rocking by play (um): lift at the nozzle, and lean at {} mm of print height\n",
                                 decimal(m.print_height_mm, 0));
  text += fmt::format("  {:<12} {:>9} {:>8} {:>9} {:>9}   {}\n", "point", "lift now", "lean y", "lean x", "before",
                      "lean y, x before");
  for (const RockingPoint& p : m.points) {
    text += fmt::format("  {:<12} {:>9} {:>8} {:>9}", p.id, decimal(p.after.lift_um, 1), decimal(p.after.along_um, 1),
                        decimal(p.after.sideways_um, 1));
    text += p.before ? fmt::format(" {:>9}   {}, {}\n", decimal(p.before->lift_um, 1), decimal(p.before->along_um, 1),
                                   decimal(p.before->sideways_um, 1))
                     : fmt::format(" {:>9}\n", "-");
  }
  text += wrapped("  ",
                  "play x arm / base; now " + decimal(m.after_along_mm, 1) + " along and " +
                      decimal(m.after_across_mm, 1) + " mm across" +
                      (m.before_along_mm > 0 ? ", before " + decimal(m.before_along_mm, 1) + " and " +
                                                   decimal(m.before_across_mm, 1) + " mm (" + m.before_base + ")"
                                             : "") +
                      ".",
                  4);
  for (const std::string& w : a.diagnosis.words) text += wrapped("  ", w + ".", 4);
  std::string not_cured;
  for (const std::string& w : a.diagnosis.not_cured) not_cured += (not_cured.empty() ? "" : "; ") + w;
  return text + wrapped("  New rails do not cure: ", not_cured + ".", 4);
}

std::string constraints_text(const ConstraintPlan& c) {
  std::string text = "What places and what floats\n";
  if (!c.reference)
    text += wrapped("  ",
                    "no reference rail is named: all plates are alike. Name the straighter rail in rails.reference and "
                    "its plates get "
                    "round holes, the others slots across.",
                    4);
  std::vector<std::pair<std::string, std::string>> roles;  // what it does, where
  for (const PlateRole& p : c.plates) {
    const std::string what =
        (p.places ? std::string("round holes, places")
                  : "slots " + decimal(p.extra_mm, 2) + " mm " + (p.along_y ? "along" : "across") + ", floats") +
        "; left to each side " + decimal(p.across_left_mm, 2) + " mm across, " + decimal(p.along_left_mm, 2) +
        " along, " + decimal(p.frame_left_mm, 2) + " at the frame's screws";
    const auto have = std::find_if(roles.begin(), roles.end(), [&](const auto& r) { return r.first == what; });
    if (have == roles.end())
      roles.emplace_back(what, p.part + " at " + p.placement);
    else
      have->second += ", " + p.placement;
  }
  for (const auto& [what, where] : roles) text += wrapped("  ", where + ": " + what + ".", 4);
  for (const MountRole& m : c.mounts) {
    const double grows = length(m.growth_mm);
    std::string line = m.fixed ? "fixed"
                               : "slides " + decimal(grows, 3) + " mm (x " + signed_mm(m.growth_mm.x) + ", y " +
                                     signed_mm(m.growth_mm.y) + ")";
    if (!m.fixed && m.room_mm)
      line += m.slot_mm > 0 ? ", needs a slot " + decimal(m.slot_mm, 1) + " mm long" : ", its hole lets it";
    text += wrapped("  ", "mount " + m.id + ": " + line + ".", 4);
  }
  for (const PadStep& s : c.pads)
    text += wrapped("  ",
                    std::string("pads ") + placement_ids[static_cast<std::size_t>(s.a)] + " against " +
                        placement_ids[static_cast<std::size_t>(s.b)] + ": " + decimal(s.mm, 3) + " mm, " +
                        decimal(s.used_percent(), 0) + " % of " + decimal(s.limit_mm, 4) + ".",
                    4);
  // Within the limits no pad wants a shim.
  if (std::any_of(c.pads.begin(), c.pads.end(), [](const PadStep& s) { return s.used_percent() > 100; }))
    for (std::size_t i = 0; i < 4; ++i)
      if (c.pad_shim_mm[i] > 0)
        text += wrapped(
            "  ", std::string("shim the pad at ") + placement_ids[i] + " by " + decimal(c.pad_shim_mm[i], 3) + " mm.",
            4);
  return text;
}

/// What stands above already is not said again; the document has every one.
bool told_above(const Figure& f) {
  return f.id.rfind("lift-", 0) == 0 || f.id.rfind("lean-", 0) == 0 || f.id.rfind("rail-", 0) == 0;
}

std::string figures_text(const MachineAnswers& a) {
  std::string text;
  for (const Figure& f : a.figures)
    if (!told_above(f))
      text += wrapped("  " + f.what + ": ",
                      decimal(f.value, 3) + (f.unit.empty() ? "" : " " + f.unit) + " = " + f.formula + ". " + f.source +
                          "; holds for: " + f.range + (f.in_range ? "." : ". OUT OF THAT RANGE HERE."),
                      4);
  return text.empty() ? text : "Figures\n" + text;
}

}  // namespace

Json machine_json(const MachineAnswers& a) {
  Json rails = Json::array(), points = Json::array(), figures = Json::array();
  for (std::size_t i = 0; i < a.rails.size(); ++i) rails.push_back(rail_json(a.rails[i], a.bending[i]));
  for (const RockingPoint& p : a.rocking.points)
    points.push_back({{"id", p.id},
                      {"at_mm", point_json(p.at)},
                      {"after", rocking_json(p.after)},
                      {"before", p.before ? rocking_json(*p.before) : Json(nullptr)}});
  for (const Figure& f : a.figures)
    figures.push_back({{"id", f.id},
                       {"what", f.what},
                       {"value", rounded_6(f.value)},
                       {"unit", f.unit},
                       {"formula", f.formula},
                       {"source", f.source},
                       {"range", f.range},
                       {"in_range", f.in_range}});
  return {{"heights", heights_json(a.heights)},
          {"constraints", constraints_json(a.constraints)},
          {"rails", rails},
          {"rocking_points", points},
          {"print_height_mm", rounded_length(a.rocking.print_height_mm)},
          {"diagnosis", diagnosis_json(a.diagnosis)},
          {"moving_mass", mass_json(a)},
          {"figures", figures}};
}

std::string machine_text(const MachineAnswers& a) {
  return heights_text(a.heights) + rails_text(a) + rocking_text(a) + constraints_text(a.constraints) + figures_text(a);
}

}  // namespace bedwright
