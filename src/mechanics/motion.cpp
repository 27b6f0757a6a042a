#include "mechanics/motion.h"

#include <cmath>

#include "base/trig.h"

namespace bedwright {
double lift_um(double play_um, double base_mm, double arm_mm) {
  return play_um * std::fabs(arm_mm) / base_mm;
}

RockingAt rocking_at(double play_um, double base_along_mm, double base_across_mm, Vec2 at, double print_height_mm) {
  return {lift_um(play_um, base_along_mm, at.y) + lift_um(play_um, base_across_mm, at.x),
          lift_um(play_um, base_along_mm, print_height_mm), lift_um(play_um, base_across_mm, print_height_mm)};
}

double ringing_ratio(double mass_before_g, double mass_after_g) {
  return std::sqrt(mass_before_g / mass_after_g);
}

double ripple_hz(double speed_mm_s, double wavelength_mm) {
  return speed_mm_s / wavelength_mm;
}

double belt_stiffness_n_mm(double unit_strain_n, double span_mm, double other_span_mm) {
  return unit_strain_n * (1 / span_mm + 1 / other_span_mm);
}

double spring_hz(double stiffness_n_mm, double mass_g) {
  // N/mm over g is 1e6 N/m over kg.
  return std::sqrt(stiffness_n_mm / mass_g * 1e6) / (2 * pi);
}

double growth_mm(double expansion_per_k, double length_mm, double rise_k) {
  return expansion_per_k * length_mm * rise_k;
}

double bimetal_sag_mm(double expansion_difference_per_k, double rise_k, double height_mm, double length_mm) {
  return 1.5 * expansion_difference_per_k * rise_k / height_mm * length_mm * length_mm / 8;
}

}  // namespace bedwright
