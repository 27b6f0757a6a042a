#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

constexpr double base_mm = 1.2, border_mm = 2, strip_for_mark_mm = 9;

}  // namespace

std::vector<Part> derive_proof_piece(const Kit& kit, const Layout&, const PartRequest& request) {
  const Json& settings = request.settings;
  const double side = settings.at("side_mm").get<double>(), height = settings.at("height_mm").get<double>();
  const double wall = settings.at("lines").get<int>() * kit.printer.line_mm;
  Part part = flat_bar(kit, request, {side + 2 * border_mm, side + 2 * border_mm + strip_for_mark_mm}, base_mm);
  const double top = part.seat.height;
  const Vec2 centre{0, strip_for_mark_mm / 2};
  Feature f;
  f.id = "tower";
  f.kind = FeatureKind::boss;
  f.effect = Effect::add;
  // Sharp corners: ringing shows behind them.
  f.profile = {rectangle_loop(centre, {side, side}, 0), rectangle_loop(centre, {side - 2 * wall, side - 2 * wall}, 0)};
  f.from = Bound::at(top);
  f.to = Bound::at(height);
  f.at = {centre.x, centre.y, height};
  part.features.push_back(std::move(f));
  part.statements.push_back(
      "print it at the middle, the front and the rear of the bed, before and after the conversion, same settings, the "
      "strip with the letters to the front. Bad only away from the middle: the bearings' play, which new rails cure. "
      "The same everywhere: not the bearings. Evenly spaced ripples behind a corner: ringing, frequency = speed / "
      "spacing; new rails change it only by the moving mass");
  return {part};
}

}  // namespace bedwright
