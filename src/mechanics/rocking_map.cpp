#include "mechanics/rocking_map.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"

namespace bedwright {
namespace {

// Nearer than this and a measured ripple may be the bed on its belt. Common practice, no source: EA is known to a
// third.
constexpr double same_frequency_share = 0.3;
// What shows in a print: the first layer's window (builders' write-ups), and a wall's line to line offset (common
// practice, no source).
constexpr double shows_um = 50;

Vec2 half_bed(const Kit& kit) {
  if (kit.bed && kit.bed->size_mm.x > 0 && kit.bed->size_mm.y > 0) return 0.5 * kit.bed->size_mm;
  Vec2 arm{kit.rails.pitch_mm / 2, kit.carriages.spacing_mm / 2};
  for (const std::vector<FrameHole>* holes : {&kit.frame.holes, &kit.frame.mounts})
    for (const FrameHole& hole : *holes)
      arm = {std::max(arm.x, std::fabs(hole.at_mm.x)), std::max(arm.y, std::fabs(hole.at_mm.y))};
  return arm;
}

}  // namespace

Vec2 old_base_mm(const Kit& kit, std::string& how) {
  if (!kit.before) return {};
  const BeforeSettings& b = *kit.before;
  Vec2 base{kit.rails.pitch_mm, b.bearing_length_mm};
  how = "one bushing of " + decimal(b.bearing_length_mm, 1) + " mm a rod; rods taken as far apart as the rails";
  if (b.blocks_mm.size() < 2) return base;
  // Two rods: blocks left and right of the middle of them all.
  double low = 1e300, high = -1e300;
  for (Vec2 p : b.blocks_mm) low = std::min(low, p.x), high = std::max(high, p.x);
  if (high > low) base.x = high - low;
  double spread = 0;
  for (const Vec2 p : b.blocks_mm)
    for (const Vec2 q : b.blocks_mm)
      if ((p.x < (low + high) / 2) == (q.x < (low + high) / 2)) spread = std::max(spread, std::fabs(p.y - q.y));
  how = std::to_string(b.blocks_mm.size()) + " blocks, rods " + decimal(base.x, 1) + " mm apart; ";
  if (spread > b.bearing_length_mm) {
    base.y = spread;
    how += "blocks of one rod " + decimal(spread, 1) + " mm apart";
  } else {
    how += "along a rod one bushing of " + decimal(b.bearing_length_mm, 1) + " mm";
  }
  return base;
}

RockingMap rocking_map(const Kit& kit) {
  RockingMap map;
  map.print_height_mm = kit.bed ? kit.bed->print_height_mm : BedSettings{}.print_height_mm;
  map.after_along_mm = kit.carriages.spacing_mm;
  map.after_across_mm = kit.rails.pitch_mm;
  const Vec2 old = old_base_mm(kit, map.before_base);
  map.before_along_mm = old.y;
  map.before_across_mm = old.x;
  const Vec2 half = half_bed(kit);
  const struct {
    const char* id;
    double x, y;
  } points[] = {{"middle", 0, 0},       {"front", 0, -1},     {"rear", 0, 1},
                {"left", -1, 0},        {"right", 1, 0},      {"front-left", -1, -1},
                {"front-right", 1, -1}, {"rear-left", -1, 1}, {"rear-right", 1, 1}};
  for (const auto& p : points) {
    RockingPoint point;
    point.id = p.id;
    point.at = {p.x * half.x, p.y * half.y};
    point.after =
        rocking_at(kit.carriages.clearance_um, map.after_along_mm, map.after_across_mm, point.at, map.print_height_mm);
    if (old.y > 0) point.before = rocking_at(kit.before->play_um, old.y, old.x, point.at, map.print_height_mm);
    map.points.push_back(point);
  }
  return map;
}

Diagnosis diagnose(const Kit& kit, const RockingMap& map, double moving_before_g, double moving_after_g) {
  Diagnosis d;
  d.verdict = "unknown";
  const RockingPoint& corner = map.points.back();
  if (kit.drive) {
    const double k =
        belt_stiffness_n_mm(kit.drive->belt_unit_strain_n, kit.drive->belt_spans_mm.x, kit.drive->belt_spans_mm.y);
    if (moving_before_g > 0) d.belt_hz_before = spring_hz(k, moving_before_g);
    if (moving_after_g > 0) d.belt_hz_after = spring_hz(k, moving_after_g);
    if (kit.drive->speed_mm_s && kit.drive->ripple_mm)
      d.ripple_hz = bedwright::ripple_hz(*kit.drive->speed_mm_s, *kit.drive->ripple_mm);
  }
  const std::string proof = kit.drive ? kit.drive->proof : "";
  if (proof == "away") {
    d.verdict = "play";
    d.words.push_back(
        "the proof piece is bad only away from the middle: that is play in the bearings, and new rails "
        "cure it");
    if (corner.before && corner.before->lift_um < shows_um)
      d.words.push_back("but the play you wrote lifts a corner by only " + decimal(corner.before->lift_um, 0) +
                        " um, too little to see: measure it again, or look for a loose screw");
  } else if (proof == "everywhere") {
    d.verdict = "not-play";
    d.words.push_back(
        "the proof piece is as bad at the middle as at the ends: play has no arm at the middle, so it is "
        "not the bearings; look at nozzle, extrusion, the Z screws and the belt first");
  } else if (proof == "ripples") {
    d.verdict = "ringing";
    d.words.push_back(
        "even ripples behind a corner are ringing, not play; new rails change it only by the moving mass");
  } else {
    d.words.push_back(
        "print a proof piece at the middle, the front and the rear before you take anything apart, and "
        "write drive.proof: bad only away from the middle is play; the same everywhere is not the "
        "bearings; even ripples are ringing");
  }
  if (d.ripple_hz) {
    std::string text = "ripples " + decimal(*kit.drive->ripple_mm, 2) + " mm apart at " +
                       decimal(*kit.drive->speed_mm_s, 0) + " mm/s are " + decimal(*d.ripple_hz, 1) +
                       " Hz (f = v / wavelength)";
    if (d.belt_hz_before) {
      const double ratio = *d.ripple_hz / *d.belt_hz_before;
      text += std::fabs(ratio - 1) < same_frequency_share
                  ? ": the bed on its belt, about " + decimal(*d.belt_hz_before, 0) + " Hz"
                  : "; the bed on its belt would ring at about " + decimal(*d.belt_hz_before, 0) +
                        " Hz, so something else rings";
    }
    d.words.push_back(text);
  }
  d.not_cured = {"ringing, but for the square root of the moving masses",
                 "a bed that is bowed or twisted: shims and the level command are for that",
                 "a base that bends or twists under the rails",
                 "a worn or wet filament, a worn nozzle, uneven extrusion, a bent Z screw",
                 "a belt that skips, or a motor that loses steps: no margin is promised for that"};
  return d;
}

}  // namespace bedwright
