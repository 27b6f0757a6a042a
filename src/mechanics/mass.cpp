#include "mechanics/mass.h"

#include "kit/hardware.h"

namespace bedwright {

double solid_mass_g(double volume_mm3, const std::string& material) {
  const Material* m = find_material(material);
  return m ? volume_mm3 / 1000 * m->density_g_cm3 : 0;
}

}  // namespace bedwright
