#include "layout/plate_outline.h"

#include <algorithm>
#include <cmath>

namespace bedwright {
namespace {

// Walls beyond a counterbore and beyond a boss or pad: about three lines of a 0.4 mm nozzle, and two
// (common practice, no source).
constexpr double wall_beyond_counterbore_mm = 1.2;
constexpr double wall_beyond_boss_mm = 1.0;
constexpr double same_distance_mm = 1e-6;  // distances as near as this are alike: rounding only

}  // namespace

std::vector<Vec2> carriage_holes(const CarriageSize& carriage) {
  const double x = carriage.hole_across_mm / 2, y = carriage.hole_along_mm / 2;
  return {{-x, -y}, {x, -y}, {-x, y}, {x, y}};
}

std::vector<Vec2> frame_holes(const Placement& placement) {
  std::vector<Vec2> at;
  for (const FrameHole& hole : placement.holes) at.push_back(hole.at_mm - placement.at);
  return at;
}

std::vector<Vec2> pad_centres(const CarriageSize& carriage, const Placement& placement, const PlateSettings& settings) {
  if (!settings.pads || settings.boss_up) return {};
  std::vector<Vec2> centres = frame_holes(placement);
  if (centres.size() >= 3) return centres;
  const std::vector<Vec2> screws = centres;
  const auto clearance = [&](Vec2 p) {
    double least = 1e9;
    for (Vec2 s : screws) least = std::min(least, length(p - s));
    return least;
  };
  const double extra = slot_extra_mm(settings, placement.id) / 2;
  const double beyond = settings.pad_diameter_mm / 2 + settings.counterbore_mm / 2 + wall_beyond_counterbore_mm +
                        (settings.slot_along_y ? extra : 0);
  std::vector<Vec2> candidates;
  for (Vec2 hole : carriage_holes(carriage)) {
    const Vec2 p{hole.x, hole.y + (hole.y < 0 ? -beyond : beyond)};
    if (clearance(p) > settings.pad_diameter_mm + wall_beyond_boss_mm) candidates.push_back(p);
  }
  std::stable_sort(candidates.begin(), candidates.end(),
                   [&](Vec2 a, Vec2 b) { return clearance(a) > clearance(b) + same_distance_mm; });
  // Equally far ones come together: a choice between them would make mirror plates differ.
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    const bool tie = i > 0 && std::fabs(clearance(candidates[i]) - clearance(candidates[i - 1])) <= same_distance_mm;
    if (centres.size() >= 3 && !tie) break;
    centres.push_back(candidates[i]);
  }
  return centres;
}

Loop plate_outline(const CarriageSize& carriage, const Placement& placement, const PlateSettings& settings,
                   double outline_mm) {
  std::vector<Vec2> centres;
  std::vector<double> radii;
  const auto add = [&](Vec2 centre, double radius) {
    centres.push_back(centre);
    radii.push_back(radius);
  };
  const double half_x = (carriage.width_mm + outline_mm) / 2, half_y = (carriage.length_mm + outline_mm) / 2;
  // A corner circle inset by r / sqrt(2) passes through the face's corner instead of cutting it off.
  const double r = std::min({settings.corner_radius_mm, half_x, half_y});
  const double inset = r / std::sqrt(2.0);
  for (const Vec2 side : {Vec2{-1, -1}, Vec2{1, -1}, Vec2{-1, 1}, Vec2{1, 1}})
    add({side.x * (half_x - inset), side.y * (half_y - inset)}, r);

  const double hole = std::max(settings.carriage_hole_mm / 2 + settings.margin_mm,
                               settings.counterbore_mm / 2 + wall_beyond_counterbore_mm);
  const double extra = slot_extra_mm(settings, placement.id) / 2;
  const Vec2 along = settings.slot_along_y ? Vec2{0, 1} : Vec2{1, 0};
  for (Vec2 at : carriage_holes(carriage)) {
    add(at + extra * along, hole + outline_mm / 2);
    if (extra > 0) add(at - extra * along, hole + outline_mm / 2);
  }
  const double pad =
      std::max(settings.insert.hole_mm / 2 + settings.margin_mm, settings.boss_diameter_mm / 2 + wall_beyond_boss_mm);
  for (Vec2 at : frame_holes(placement)) add(at, pad + outline_mm / 2);
  for (Vec2 at : pad_centres(carriage, placement, settings))
    add(at, settings.pad_diameter_mm / 2 + wall_beyond_boss_mm + outline_mm / 2);
  return hull_of_circles(centres, radii);
}

std::vector<Loop> plate_seats(const Loop& outline, const CarriageSize& carriage, const Placement& placement,
                              const PlateSettings& settings, double outline_mm) {
  if (!has_flat_top(settings)) return {outline};
  const double diameter = (settings.boss_up ? settings.boss_diameter_mm : settings.pad_diameter_mm) + outline_mm;
  std::vector<Loop> seats;
  for (Vec2 at : settings.boss_up ? frame_holes(placement) : pad_centres(carriage, placement, settings))
    seats.push_back(circle_loop(at, diameter / 2, Facets::inside));
  return seats;
}

}  // namespace bedwright
