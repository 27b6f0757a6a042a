// Sine, cosine and arctangent built from + - * / and sqrt only, so that every compiler, C library
// and browser gives the same bits. Everything on the path to written bytes uses these.
#pragma once

namespace bedwright {

inline constexpr double pi = 3.14159265358979323846;
inline constexpr double rad_per_deg = pi / 180.0;
/// Largest difference from the true value for |x| <= 1e4 rad; tests hold the functions to it.
inline constexpr double trig_error = 4e-16 * 8;

/// Any finite angle up to 1e6 rad.
double sin_rad(double angle_rad);
double cos_rad(double angle_rad);
/// Angle of the vector (x, y), in (-pi, pi]; 0 for the null vector.
double atan2_rad(double y, double x);
/// Arc cosine for -1 <= c <= 1 (clamped beyond), in [0, pi].
double acos_rad(double c);

}  // namespace bedwright
