#include "mechanics/moving_mass.h"

#include <algorithm>

#include "kit/hardware.h"

namespace bedwright {
namespace {

constexpr int carriages = 4;

bool rides(const std::string& family) {
  return family == "adapter_plate" || family == "support_plate" || family == "spacer" || family == "shim";
}

}  // namespace

double printed_mass_g(double volume_mm3, double area_mm2, const std::string& material, const PrinterProfile& printer) {
  const Material* m = find_material(material);
  if (!m) return 0;
  const double skin = std::min(volume_mm3, area_mm2 * printer.walls * printer.line_mm);
  return m->density_g_cm3 / 1000 * (skin + printer.infill_percent / 100 * (volume_mm3 - skin));
}

MovingMass moving_mass(const Kit& kit, const std::vector<PrintedPart>& parts) {
  MovingMass mass;
  const bool replaced =
      std::any_of(parts.begin(), parts.end(), [](const PrintedPart& p) { return p.family == "support_plate"; });
  if (kit.bed)
    mass.terms.push_back({"bed", 1, kit.bed->mass_g, kit.bed->mass_g > 0, true});
  else
    mass.terms.push_back({"bed", 1, 0, false, true});
  if (!replaced) mass.terms.push_back({"frame", 1, kit.frame.mass_g, kit.frame.mass_g > 0, true});
  mass.terms.push_back({"carriage", carriages, kit.carriages.size.mass_g, kit.carriages.size.mass_g > 0, true});
  for (const PrintedPart& p : parts)
    mass.terms.push_back(
        {p.id, p.quantity, printed_mass_g(p.volume_mm3, p.area_mm2, p.material, kit.printer), true, rides(p.family)});
  for (const MassTerm& t : mass.terms) {
    if (!t.moves) continue;
    mass.after_g += t.quantity * t.each_g;
    mass.complete = mass.complete && t.known;
  }
  if (kit.before) mass.before_g = kit.before->moving_mass_g;
  return mass;
}

}  // namespace bedwright
