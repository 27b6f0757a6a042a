#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/workshop_gauges.h"

namespace bedwright {

std::vector<Part> derive_bridge_bar(const Kit& kit, const Layout&, const PartRequest& request) {
  const CarriageSize& carriage = kit.carriages.size;
  const double pitch = kit.rails.pitch_mm;
  // The carriages' end caps stay free: the bar bears on the steel between them.
  const Vec2 size{pitch + carriage.width_mm, carriage.hole_along_mm + carriage.hole_across_mm / 2};
  Part part = flat_bar(kit, request, size, request.settings.at("thickness_mm").get<double>());
  const double hole = clearance_hole_mm(carriage.thread, "fine");
  int number = 0;
  for (const double side : {-1.0, 1.0})
    for (const Vec2 at : carriage_holes(carriage))
      part.features.push_back(clearance_hole("hole-" + std::to_string(++number), {at.x + side * pitch / 2, at.y}, hole,
                                             Bound::open(), Bound::open(), part.seat.height, kit.printer.compensation));
  part.statements.push_back("sets the rails " + decimal(pitch, 3) +
                            " mm apart; before use, lay it on glass: what rocks there is no bridge. It is a setting "
                            "aid for running the rails in, not a straightedge");
  return {part};
}

}  // namespace bedwright
