#include "layout/heights.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"

namespace bedwright {
namespace {

// Guideway makers' accuracy class "normal": height +-0.1 mm (excerpt of a manual, of bigger sizes).
constexpr double carriage_class_mm = 0.1;
// Micrometer, ISO 13385-1 class of tool: +-0.004; caliper +-0.03.
constexpr double micrometer_mm = 0.004, caliper_mm = 0.03;
// What a printed height is off by before the printer is calibrated: half a layer of 0.1. Common practice, no source.
constexpr double printed_mm = 0.05;
// The range of thickness that a spacer may have (docs/kit.schema.json), and the step to which it is set.
constexpr double least_spacer_mm = 0.4, greatest_spacer_mm = 100, spacer_step_mm = 0.01;

const char* const class_source = "makers' class normal, +-0.1";

// Cold-rolled sheet, normal tolerance, width up to 1200 (trade extract of the standard).
double sheet_tolerance_mm(double thickness_mm) {
  return thickness_mm <= 1.5 ? 0.08 : thickness_mm <= 2 ? 0.10 : thickness_mm <= 3 ? 0.15 : 0.2;
}

double printed_tolerance_mm(const Kit& kit) {
  return kit.joint_rules.printed_plus_minus_mm > 0 ? kit.joint_rules.printed_plus_minus_mm : printed_mm;
}

std::string printed_source(const Kit& kit) {
  return kit.joint_rules.printed_plus_minus_mm > 0 ? "joint_rules.printed_plus_minus_mm" : "common practice, no source";
}

const PartRequest* find_part(const Kit& kit, const std::string& family, const std::string& id = "") {
  for (const PartRequest& p : kit.parts)
    if (p.family == family && (id.empty() || p.id == id)) return &p;
  return nullptr;
}

HeightTerm minus(HeightTerm term) {
  term.mm = -term.mm;
  return term;
}

/// Height of the sheet's underside at the mounts: the mean, and how far they differ.
double underside_at_mounts(const Kit& kit, const Layout& layout, double& differ) {
  double least = 1e300, most = -1e300, sum = 0;
  int known = 0;
  for (const FrameHole& m : kit.frame.mounts) {
    try {
      const double z = height_at(layout.underside, m.at_mm);
      least = std::min(least, z);
      most = std::max(most, z);
      sum += z;
      ++known;
    } catch (const Error&) {
      continue;  // beyond the points that were measured
    }
  }
  if (known == 0) return layout.height_mm;
  differ = most - least;
  return sum / known;
}

/// To the upper faces of the carriages.
HeightStack new_carriages(const Kit& kit, const Layout& layout) {
  HeightStack s;
  if (kit.rails.lift_mm > 0 || kit.rails.lift_plus_minus_mm > 0)
    s.terms.push_back({"spacers under the rails", kit.rails.lift_mm, kit.rails.lift_plus_minus_mm, "the kit"});
  const bool measured = layout.pairing.has_value();
  double carriage = kit.carriages.size.assembly_height_mm;
  if (measured) {
    carriage = 0;
    for (double h : layout.pairing->height_mm) carriage += h / 4;
  }
  s.terms.push_back({"rail and carriage", carriage, measured ? micrometer_mm : carriage_class_mm,
                     measured ? "micrometer +-0.004" : class_source});
  return s;
}

HeightStack new_frame(const Kit& kit, const Layout& layout, double& differ) {
  HeightStack s = new_carriages(kit, layout);
  if (const PartRequest* plate = find_part(kit, "support_plate")) {
    s.terms.push_back({"support plate to its standoffs", plate->settings.at("standoff_mm").get<double>(),
                       printed_tolerance_mm(kit), printed_source(kit)});
    return s;
  }
  s.terms.push_back({"adapter plates to the sheet, at the mounts", underside_at_mounts(kit, layout, differ),
                     printed_tolerance_mm(kit), printed_source(kit)});
  s.terms.push_back({"sheet", kit.frame.sheet_thickness_mm, sheet_tolerance_mm(kit.frame.sheet_thickness_mm),
                     "cold-rolled sheet, normal tolerance"});
  return s;
}

/// To the support plate's pad for a thing that sat on the sheet; nothing where no pad is for it.
std::optional<HeightStack> new_pad(const Kit& kit, const Layout& layout, const PartRequest& plate, const char* thing) {
  for (const Json& pad : plate.settings.value("pads", Json::array())) {
    if (pad.value("for", "") != thing) continue;
    HeightStack s = new_carriages(kit, layout);
    s.terms.push_back({"support plate to its pad",
                       plate.settings.at("thickness_mm").get<double>() + pad.at("height_mm").get<double>(),
                       printed_tolerance_mm(kit), printed_source(kit)});
    return s;
  }
  return std::nullopt;
}

/// What stood on the frame before and still does.
std::vector<HeightTerm> on_frame(const Kit& kit) {
  std::vector<HeightTerm> terms;
  if (kit.bed->stand_mm > 0 || kit.bed->stand_plus_minus_mm > 0)
    terms.push_back({"stand", kit.bed->stand_mm, kit.bed->stand_plus_minus_mm, "the kit"});
  terms.push_back({"bed", *kit.bed->thickness_mm, caliper_mm, "caliper +-0.03"});
  return terms;
}

void need(HeightPlan& plan, bool given, const std::string& key, const std::string& answer) {
  if (!given) plan.missing.push_back(key + ": " + answer);
}

}  // namespace

double HeightStack::sum_mm() const {
  double sum = 0;
  for (const HeightTerm& t : terms) sum += t.mm;
  return sum;
}

double HeightStack::worst_mm() const {
  double sum = 0;
  for (const HeightTerm& t : terms) sum += t.plus_minus_mm;
  return sum;
}

double HeightStack::rss_mm() const {
  double sum = 0;
  for (const HeightTerm& t : terms) sum += t.plus_minus_mm * t.plus_minus_mm;
  return std::sqrt(sum);
}

HeightPlan height_plan(const Kit& kit, const Layout& layout) {
  HeightPlan plan;
  plan.frame = new_frame(kit, layout, plan.mounts_differ_mm);
  const bool thickness = kit.bed && kit.bed->thickness_mm;
  const bool old_height = kit.before && kit.before->bed_height_mm;
  need(plan, kit.before.has_value(), "before", "rocking, heights and masses compared with the old machine");
  need(plan, thickness, "bed.thickness_mm", "the new bed height");
  need(plan, old_height, "before.bed_height_mm", "how far the bed rises, and what the nozzle meets");
  need(plan, kit.before && kit.before->belt_height_mm, "before.belt_height_mm", "whether the belt stays level");
  need(plan, kit.before && kit.before->end_switch, "before.end_switch", "whether the switch is still struck");
  need(plan, kit.before && kit.before->moving_mass_g, "before.moving_mass_g", "the moving mass compared, and ringing");
  if (!thickness) return plan;

  HeightStack bed = plan.frame;
  const PartRequest* spacer = kit.bed->spacer.empty() ? nullptr : find_part(kit, "spacer", kit.bed->spacer);
  std::vector<HeightTerm> rest = on_frame(kit);
  double rest_mm = 0;
  for (const HeightTerm& t : rest) rest_mm += t.mm;
  if (spacer) {
    double mm = spacer->settings.at("thickness_mm").get<double>();
    if (kit.bed->height_mm) {
      const double left = *kit.bed->height_mm - plan.frame.sum_mm() - rest_mm;
      mm = std::round(left / spacer_step_mm) * spacer_step_mm;
      plan.spacer_mm = mm;
    }
    bed.terms.push_back({"spacer " + spacer->id, mm, printed_tolerance_mm(kit), printed_source(kit)});
  }
  bed.terms.insert(bed.terms.end(), rest.begin(), rest.end());
  plan.bed = bed;
  plan.wanted_mm = kit.bed->height_mm;
  if (plan.wanted_mm && !spacer) plan.plate_change_mm = *plan.wanted_mm - bed.sum_mm();
  if (!old_height) return plan;

  const BeforeSettings& before = *kit.before;
  const HeightTerm was{"the old bed's height", *before.bed_height_mm, before.plus_minus_mm, "before.plus_minus_mm"};
  HeightStack rise = bed;
  rise.terms.push_back(minus(was));
  plan.rise = rise;
  // Where the frame was is told from the old bed's height, less what stood on it: as the kit says, else as much as stands
  // there now, the spacers in place of something as thick as their thickness_mm, whatever the height wanted makes of
  // them.
  HeightStack old_frame;  // its height, negative
  old_frame.terms.push_back(minus(was));
  if (before.stand_mm) {
    old_frame.terms.push_back({"what stood between the old frame and its bed", *before.stand_mm, before.plus_minus_mm,
                               "before.plus_minus_mm"});
    old_frame.terms.push_back(rest.back());
  } else {
    old_frame.terms.insert(old_frame.terms.end(), rest.begin(), rest.end());
  }
  if (spacer && !before.stand_mm)
    old_frame.terms.push_back({"what stood where the spacers " + spacer->id + " go, as thick as their thickness_mm",
                               spacer->settings.at("thickness_mm").get<double>(), before.plus_minus_mm,
                               "before.plus_minus_mm"});
  const auto risen = [&](HeightStack from) {
    from.terms.insert(from.terms.end(), old_frame.terms.begin(), old_frame.terms.end());
    return from;
  };
  plan.frame_rise = risen(plan.frame);
  const PartRequest* plate = find_part(kit, "support_plate");
  const auto seat_of = [&](const char* thing, const char* answer) -> std::optional<HeightStack> {
    if (!plate) return plan.frame_rise;
    const std::optional<HeightStack> pad = new_pad(kit, layout, *plate, thing);
    need(plan, pad.has_value(), "a pad of the support plate with \"for\": \"" + std::string(thing) + "\"", answer);
    return pad ? std::optional<HeightStack>(risen(*pad)) : std::nullopt;
  };
  if (before.belt_height_mm) plan.belt = seat_of("belt_clamp", "whether the belt stays level");
  if (before.end_switch) plan.flag = seat_of("switch_flag", "whether the switch is still struck");
  HeightStack nozzle;
  nozzle.terms.push_back({"gap when homed before", before.nozzle_gap_mm.value_or(0), 0, "the kit"});
  for (const HeightTerm& t : rise.terms) nozzle.terms.push_back(minus(t));
  plan.nozzle = nozzle;
  return plan;
}

std::string rise_words(const HeightPlan& plan) {
  const double rise = plan.rise->sum_mm();
  if (std::fabs(rise) < 0.005) return "at the height it had";
  return decimal(std::fabs(rise), 2) + (rise >= 0 ? " mm higher" : " mm lower") + " than it was";
}

void set_thicknesses(const Kit& kit, Layout& layout) {
  if (!kit.bed || !kit.bed->height_mm || kit.bed->spacer.empty()) return;
  const HeightPlan plan = height_plan(kit, layout);
  if (!plan.spacer_mm) return;
  const double mm = *plan.spacer_mm;
  if (mm < least_spacer_mm || mm > greatest_spacer_mm)
    throw BadInput("kit " + kit.name,
                   {{"/bed/height_mm", decimal(*kit.bed->height_mm, 2),
                     "leaves " + decimal(mm, 2) + " mm for the spacer " + kit.bed->spacer +
                         "; without it the bed is at " + decimal(plan.bed->sum_mm() - mm, 2) + " mm",
                     mm < least_spacer_mm ? "want at least " + decimal(plan.bed->sum_mm() - mm + least_spacer_mm, 2) +
                                                ", make the plates thinner, or take lower rails"
                                          : "measure from the face that the rails lie on"}});
  layout.set_thickness_mm[kit.bed->spacer] = mm;
}

double spacer_thickness_mm(const Layout& layout, const PartRequest& request) {
  const auto set = layout.set_thickness_mm.find(request.id);
  return set != layout.set_thickness_mm.end() ? set->second : request.settings.at("thickness_mm").get<double>();
}

}  // namespace bedwright
