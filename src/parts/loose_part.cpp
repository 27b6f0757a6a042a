#include "parts/loose_part.h"

#include "parts/features.h"

namespace bedwright {

Vec2 plane_size(const Json& pair) {
  return {pair.at(0).get<double>(), pair.at(1).get<double>()};
}

Part loose_part(const Kit& kit, const PartRequest& request) {
  Part part;
  part.id = request.id;
  part.family = request.family;
  part.chord_mm = kit.tolerance.chord_mm;
  part.material = request.settings.value("material", kit.printer.material);
  part.settings = request.settings;
  return part;
}

Feature seat_of_height(const Surface& surface, const Loop& made, double nominal_mm, double chord_mm) {
  Feature f = seat(surface, {made}, {made}, chord_mm);
  for (Dimension& d : f.dimensions)
    if (d.quantity == "thickness") d.nominal_mm = nominal_mm;
  return f;
}

}  // namespace bedwright
