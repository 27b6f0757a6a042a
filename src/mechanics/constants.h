// What nature and convention fix.
#pragma once

namespace bedwright {

/// m/s2; conventional value, exact. Source: CGPM 1901.
inline constexpr double standard_gravity = 9.80665;

}  // namespace bedwright
