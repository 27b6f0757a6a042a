#include "base/numbers.h"
#include "kit/hardware.h"
#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

constexpr double grip_mm = 14, grip_height_mm = 10, step_height_mm = 6;
/// Room that the screw itself needs at least; ISO 273's fine series leaves 0.2 mm or more.
constexpr double go_above_screw_mm = 0.1;
/// ISO 273 asks H13 of medium holes: +0.18 mm from 3 to 6, +0.14 to 3, +0.22 to 10 (ISO 286-1).
double h13_mm(double diameter) {
  return diameter <= 3 ? 0.14 : diameter <= 6 ? 0.18 : 0.22;
}

Feature step(const std::string& id, double diameter, double from, double to, const Compensation& compensation) {
  Feature f = boss_to_seat(id, {}, diameter, from, to, compensation);
  f.to = Bound::at(to);
  return f;
}

}  // namespace

std::vector<Part> derive_hole_plug(const Kit& kit, const Layout&, const PartRequest& request) {
  const std::string thread = request.settings.at("screw").get<std::string>();
  const Compensation& compensation = kit.printer.compensation;
  const double hole = clearance_hole_mm(thread, request.settings.at("fit").get<std::string>());
  const double go = find_thread(thread)->diameter_mm + go_above_screw_mm, stop = hole + h13_mm(hole);
  const Loop drawn = circle_loop({}, grip_mm / 2, Facets::inside);
  const Loop made = circle_loop({}, (grip_mm + compensation.outline_mm) / 2, Facets::inside);
  Part part = flat_body(kit, request, drawn, made, grip_height_mm);
  part.features.front().dimensions = {
      dimension("diameter", grip_mm, grip_mm + compensation.outline_mm, diameter_tolerance_mm)};
  const double top = part.seat.height;
  part.features.push_back(step("shoulder", stop, top, top + step_height_mm, compensation));
  part.features.push_back(step("tip", go, top + step_height_mm, top + 2 * step_height_mm, compensation));
  part.statements.push_back("tip " + decimal(go, 2) + " mm must enter a hole for " + thread + ", shoulder " +
                            decimal(stop, 2) + " mm must not; measure the plug by caliper before trusting it");
  return {part};
}

}  // namespace bedwright
