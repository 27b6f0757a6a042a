#include "base/numbers.h"
#include "kit/hardware.h"
#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

// A plan of rows that leaves two fingers' room for the caliper's jaws; sizes: common practice, no source.
constexpr Vec2 size_mm{96, 62};
constexpr double spacing_x_mm = 80, spacing_y_mm = 46, spacing_hole_mm = 4;
constexpr double ladder_step_mm = 0.1;

}  // namespace

std::vector<Part> derive_fit_coupon(const Kit& kit, const Layout&, const PartRequest& request) {
  const Json& settings = request.settings;
  const Compensation& compensation = kit.printer.compensation;
  Part part = flat_bar(kit, request, size_mm, settings.at("thickness_mm").get<double>());
  const double top = part.seat.height;
  const auto hole = [&](const std::string& id, Vec2 at, double diameter) {
    part.features.push_back(clearance_hole(id, at, diameter, Bound::open(), Bound::open(), top, compensation));
  };
  // Spacing, apart from diameter: both walls of a hole shift together.
  int corner = 0;
  for (const double y : {-1.0, 1.0})
    for (const double x : {-1.0, 1.0})
      hole("spacing-" + std::to_string(++corner), {x * spacing_x_mm / 2, y * spacing_y_mm / 2}, spacing_hole_mm);
  int number = 0;
  double x = -28;
  for (const double diameter : {3.0, 4.0, 5.0, 6.0, 8.0}) {
    hole("hole-" + std::to_string(++number), {x, -16}, diameter);
    x += 13;
  }
  // Inserts: the maker's hole and two sizes either side.
  const InsertSize* insert = find_insert(settings.at("insert").get<std::string>());
  for (int i = -2; i <= 2; ++i)
    hole("insert-" + std::to_string(i + 3), {13.0 * i, 0}, insert->hole_mm + ladder_step_mm * i);
  part.features.push_back(
      clearance_slot("slot", {-21, 15}, 4.5, 6, {1, 0}, Bound::open(), Bound::open(), top, compensation));
  // Heights: proportional error apart from the first layer's offset.
  constexpr double tower_heights[] = {1, 2, 4, 8};
  for (int i = 0; i < 4; ++i) {
    // The body under it has the compensation of heights already: from the bed up it counts once.
    const double height = tower_heights[i];
    Feature f =
        boss_to_seat("boss-" + std::to_string(i + 1), {-4.0 + 11 * i, 15}, 5 + i, top, top + height, compensation);
    f.from = Bound::at(top);
    f.to = Bound::at(top + height);
    f.dimensions.push_back(dimension("height", height, height_tolerance_mm));
    part.features.push_back(std::move(f));
  }
  part.statements.push_back("insert holes from " + decimal(insert->hole_mm - 2 * ladder_step_mm, 2) + " to " +
                            decimal(insert->hole_mm + 2 * ladder_step_mm, 2) + " mm, left to right, for " + insert->id +
                            "; holes of 3, 4, 5, 6 and 8 mm; towers 1, 2, 4 and 8 mm high");
  part.statements.push_back(
      "measure when cold: each hole across its layers' seam and square to it, the corner holes' "
      "spacing edge to edge (" +
      decimal(spacing_x_mm, 0) + " and " + decimal(spacing_y_mm, 0) +
      " mm between centres), and the towers over the whole coupon");
  return {part};
}

}  // namespace bedwright
