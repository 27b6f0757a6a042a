#include "checks/hole_float.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"
#include "checks/line_up.h"
#include "checks/offered.h"
#include "joints/float.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

double thread_mm(const std::string& id) {
  const ThreadSize* thread = find_thread(id);
  return thread ? thread->diameter_mm : 0;
}

/// What the file measures, or what was drawn where it could not be measured.
double size_of(const KnownPart& p, const Feature& f, const std::string& quantity, double otherwise) {
  if (p.comparison)
    for (const MeasuredDimension& d : p.comparison->dimensions)
      if (d.feature == f.id && d.quantity == quantity && d.measured_mm) return *d.measured_mm;
  const Dimension* drawn = find_dimension(f, quantity);
  return drawn ? drawn->modelled_mm : otherwise;
}

/// A hole of the file, part frame.
HoleSpot measured_spot(const KnownPart& p, const HoleSpot& drawn, double compensation) {
  HoleSpot spot = drawn;
  const Feature& f = *drawn.feature;
  spot.at = {size_of(p, f, "x", drawn.at.x), size_of(p, f, "y", drawn.at.y)};
  const bool slot = drawn.extra_mm > 0;
  const double width = size_of(p, f, slot ? "width" : "diameter", drawn.diameter_mm);
  if (slot) spot.extra_mm = size_of(p, f, "length", width + drawn.extra_mm) - width;
  spot.diameter_mm = width - compensation;  // what was added is what the printer takes away
  return spot;
}

struct PlateFits {
  std::vector<HoleFloat> floats;
  std::vector<Fit> fits;
};

void add_fit(PlateFits& plate, const KnownPart& p, const std::string& feature, const std::string& placement,
             const Fit& fit, double hole_mm, double screw_mm) {
  HoleFloat f;
  f.joint = p.part->id + "-" + feature;
  f.part = p.part->id;
  f.placement = placement;
  f.hole_mm = hole_mm;
  f.screw_mm = screw_mm;
  f.zone_mm = fixed_zone_mm(hole_mm, screw_mm);
  f.extra_mm = fit.extra_mm;
  plate.floats.push_back(f);
  plate.fits.push_back(fit);
}

const HoleSpot* nearest(const std::vector<HoleSpot>& spots, const Offered& offered, Vec2 screw) {
  const HoleSpot* best = nullptr;
  for (const HoleSpot& spot : spots)
    if (!best || length(posed(offered, spot.at) - screw) < length(posed(offered, best->at) - screw)) best = &spot;
  return best;
}

PlateFits fits_at(const Kit& kit, const KnownPart& p, const Placement& placement, int quarter) {
  PlateFits plate;
  const PlateSettings s = plate_settings(kit, *p.part);
  const double compensation = kit.printer.compensation.hole_mm;
  const Offered right{p.part, false, quarter, 0};
  const Transform t = plane_transform(right);
  std::vector<HoleSpot> mounting, inserts;
  for (const HoleSpot& spot : mounting_holes(*p.part)) mounting.push_back(measured_spot(p, spot, compensation));
  for (const HoleSpot& spot : insert_holes(*p.part)) inserts.push_back(measured_spot(p, spot, compensation));
  const double carriage_screw = thread_mm(s.carriage_screw);
  for (Vec2 screw : carriage_holes(kit.carriages.size)) {
    const HoleSpot* spot = nearest(mounting, right, screw);
    if (!spot) continue;
    const Vec3 along = turn(t, {spot->along.x, spot->along.y, 0});
    const Fit fit{posed(right, spot->at), screw, (spot->diameter_mm - carriage_screw) / 2, spot->extra_mm,
                  {along.x, along.y}};
    add_fit(plate, p, spot->id, placement.id, fit, spot->diameter_mm, carriage_screw);
  }
  const double frame_screw = thread_mm(s.frame_screw);
  const std::vector<Vec2> frame = frame_holes(placement);
  for (std::size_t i = 0; i < frame.size(); ++i) {
    const HoleSpot* spot = nearest(inserts, right, frame[i]);
    if (!spot) continue;
    const double hole = placement.holes[i].diameter_mm;
    // The insert holds the screw; the play is in the sheet's hole.
    std::string passes = spot->id;
    for (const Feature& f : p.part->features)
      if (f.kind == FeatureKind::clearance_hole && f.at.x == spot->feature->at.x && f.at.y == spot->feature->at.y)
        passes = f.id;
    add_fit(plate, p, passes, placement.id, {posed(right, spot->at), frame[i], (hole - frame_screw) / 2, 0, {1, 0}},
            hole, frame_screw);
  }
  return plate;
}

void settle_fits(PlateFits& plate) {
  const BestPlace place = best_place(plate.fits);
  const std::vector<double> offs = offs_at(plate.fits, place);
  for (std::size_t i = 0; i < offs.size(); ++i) {
    plate.floats[i].left_mm = -offs[i];
    plate.floats[i].used_mm = plate.fits[i].float_mm + offs[i];
  }
}

void keep_worst(std::vector<HoleFloat>& all, const HoleFloat& f) {
  for (HoleFloat& have : all)
    if (have.joint == f.joint) {
      if (f.left_mm < have.left_mm) have = f;
      return;
    }
  all.push_back(f);
}

}  // namespace

std::vector<HoleFloat> hole_floats(const Kit& kit, const Layout& layout, const std::vector<KnownPart>& parts,
                                   const std::vector<JointSolution>& joints) {
  std::vector<HoleFloat> all;
  for (const KnownPart& p : parts) {
    if (p.part->family != "adapter_plate") continue;
    for (std::size_t i = 0; i < p.part->placements.size(); ++i)
      for (const Placement& placement : layout.placements) {
        if (placement.id != p.part->placements[i]) continue;
        PlateFits plate = fits_at(kit, p, placement, i < p.part->quarter_turns.size() ? p.part->quarter_turns[i] : 0);
        settle_fits(plate);
        for (const HoleFloat& f : plate.floats) keep_worst(all, f);
      }
  }
  for (const JointSolution& s : joints) {
    if (!s.joint.part.empty() || s.joint.hole_mm <= 0) continue;
    HoleFloat f;
    f.joint = s.joint.id;
    f.fixed = s.joint.anchor.kind != "nut";
    f.hole_mm = s.joint.hole_mm;
    f.screw_mm = thread_mm(s.joint.thread);
    f.zone_mm = f.fixed ? fixed_zone_mm(f.hole_mm, f.screw_mm) : floating_zone_mm(f.hole_mm, f.screw_mm);
    f.left_mm = (f.hole_mm - f.screw_mm) / 2;
    all.push_back(f);
  }
  return all;
}

void check_hole_float(const Known& known, std::vector<Finding>& findings) {
  const double pattern = known.kit.joint_rules.pattern_plus_minus_mm;
  constexpr double same_mm = 0.01;  // a measured hole's own uncertainty
  for (const HoleFloat& f : known.floats) {
    if (f.left_mm >= pattern - same_mm) continue;
    const bool misses = f.left_mm < -same_mm;
    findings.push_back(
        {misses ? "holes-miss" : "holes-tight", misses ? Severity::error : Severity::warning, f.part, f.joint,
         f.joint + (f.placement.empty() ? "" : " at " + f.placement) + ": " +
             (misses ? "a screw of " + decimal(f.screw_mm, 2) + " mm misses its hole of " + decimal(f.hole_mm, 2) +
                           " mm by " + decimal(-f.left_mm, 2) + " mm"
                     : "only " + decimal(std::max(f.left_mm, 0.0), 2) + " mm of play are left round the screw in its " +
                           decimal(f.hole_mm, 2) + " mm hole, and the patterns may be off by " + decimal(pattern, 2)),
         f.left_mm, pattern, "mm",
         misses ? "measure the pattern again, or allow more with slot_mm or a larger hole"
                : "take a coarser hole (carriage_hole, or drill the sheet) or a slot (slot_mm)"});
  }
}

}  // namespace bedwright
