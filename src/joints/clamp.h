// How hard a screw presses, and on what area. Torques N.m, forces N, lengths mm, stresses MPa.
#pragma once

#include <string>

#include "joints/joints.h"

namespace bedwright {

/// F = T / (0.2 d): nut factor 0.2, dry steel; common practice, no source, good to about 30 %.
double clamp_force_n(double torque_nm, double diameter_mm);
double torque_for_nm(double force_n, double diameter_mm);

/// Area of a ring of outer diameter `outer` round a hole drawn long by `slot`; what the slot cuts beyond the ring is
/// left out on the safe side. 0 if nothing bears.
double bearing_area_mm2(double outer_mm, double hole_mm, double slot_mm);

/// pi / 4 (d - 0.9382 p)^2, ISO 898-1.
double stress_area_mm2(double diameter_mm, double pitch_mm);

struct Clamp {
  bool on_plastic = false;  ///< some clamped layer is printed
  double outer_mm = 0, area_mm2 = 0;
  double torque_least_nm = 0, torque_greatest_nm = 0;
  std::string source;
  double torque_nm = 0, stress_mpa = 0;  ///< at the kit's own torque, else at the greatest of the range
};

/// Where a printed layer is clamped, the range that presses it with two thirds of the limit up to the limit, and never
/// more than a thread in aluminium bears; else from half of that up to it. Stock layers above the first printed one
/// spread the load by half their thickness on each side (a cone of about 27 degrees; common practice, no source).
Clamp clamp_of(const Joint& joint);

}  // namespace bedwright
