// Closed forms for what moves, rocks, rings and grows. Lengths mm, play um, masses g, temperatures C or K differences.
// Each says the range it is good for; none of them knows a machine.
#pragma once

#include "base/vec.h"

namespace bedwright {

/// Play c of one bearing over a base of length S lets it tilt by c / S; a point at distance a from the middle of the
/// base lifts by c a / S at most. Rigid bodies, small angles. Source: elementary statics. base_mm > 0.
double lift_um(double play_um, double base_mm, double arm_mm);

/// Where the nozzle meets a print: how far play lets the bed lift and lean there.
struct RockingAt {
  double lift_um = 0;      ///< pitching and rolling together
  double along_um = 0;     ///< shift to front or rear at the print's height, by pitching
  double sideways_um = 0;  ///< shift to left or right at the print's height, by rolling
};
/// `at`: from the middle of the carriages. base_along_mm: carriage spacing, or one old bearing's length;
/// base_across_mm: rail pitch, or the rods' distance.
RockingAt rocking_at(double play_um, double base_along_mm, double base_across_mm, Vec2 at, double print_height_mm);

/// Natural frequency goes with the square root of stiffness over mass: the ratio after / before. Masses > 0.
/// Good while stiffness stays the same and one spring-mass pair governs.
double ringing_ratio(double mass_before_g, double mass_after_g);

/// Ripples behind a corner: f = v / wavelength, Hz.
double ripple_hz(double speed_mm_s, double wavelength_mm);

/// A belt of stiffness EA (N, force at unit strain) tensioned on both sides of the bed: k = EA (1 / L1 + 1 / L2), N/mm.
double belt_stiffness_n_mm(double unit_strain_n, double span_mm, double other_span_mm);
/// Hz of a mass on a spring.
double spring_hz(double stiffness_n_mm, double mass_g);

/// Free growth: expansion (1/K) x length x rise.
double growth_mm(double expansion_per_k, double length_mm, double rise_k);

/// Two strips of equal thickness and stiffness bonded, total height h: curvature 1.5 (difference of expansion) dT / h
/// (Timoshenko 1925, from memory). Sag over a length: curvature L^2 / 8, small against L.
double bimetal_sag_mm(double expansion_difference_per_k, double rise_k, double height_mm, double length_mm);

}  // namespace bedwright
