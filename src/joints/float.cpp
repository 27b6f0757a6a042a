#include "joints/float.h"

namespace bedwright {

double floating_zone_mm(double hole_mm, double fastener_mm) {
  return hole_mm - fastener_mm;
}

double fixed_zone_mm(double hole_mm, double fastener_mm) {
  return (hole_mm - fastener_mm) / 2;
}

}  // namespace bedwright
