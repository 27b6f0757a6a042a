#include "base/numbers.h"
#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

constexpr double wall_mm = 8;   // beside and above an opening; stiff enough to feel a tight rail, no source
constexpr double clear_mm = 1;  // the opening is that much shallower than the rail is high: it sits on the rails

}  // namespace

std::vector<Part> derive_rail_gauge(const Kit& kit, const Layout&, const PartRequest& request) {
  const Json& settings = request.settings;
  const double pitch = kit.rails.pitch_mm, grown = kit.printer.compensation.hole_mm;
  const double opening = kit.rails.size.width_mm + settings.at("clearance_mm").get<double>();
  const double deep = kit.rails.size.height_mm - clear_mm;
  const Vec2 size{pitch + opening + 2 * wall_mm, deep + 2 * wall_mm};
  Part part = flat_bar(kit, request, size, settings.at("thickness_mm").get<double>(), LowerEdge::sharp);
  for (const double side : {-1.0, 1.0}) {
    Feature f;
    f.id = side < 0 ? "opening-left" : "opening-right";
    f.kind = FeatureKind::notch;
    f.effect = Effect::cut;
    // Out past the front edge, so that the cut is open there.
    const double low = -size.y / 2 - wall_mm, high = -size.y / 2 + deep;
    f.profile = {rectangle_loop({side * pitch / 2, (low + high) / 2}, {opening + grown, high - low}, 0)};
    f.from = f.to = Bound::open();
    f.at = {side * pitch / 2, high, part.seat.height};
    f.dimensions = {dimension("width", opening, opening + grown, height_tolerance_mm),
                    dimension("x", side * pitch / 2, position_tolerance_mm)};
    part.features.push_back(std::move(f));
  }
  part.statements.push_back("straddles both rails " + decimal(pitch, 3) + " mm apart, with " +
                            decimal(opening - kit.rails.size.width_mm, 2) +
                            " mm of room on each; try it at both ends and in the middle");
  return {part};
}

}  // namespace bedwright
