// How numbers are printed and read, without locale.
#pragma once

#include <string>

namespace bedwright {

/// Step of printed lengths.
inline constexpr double length_step_mm = 1e-4;

/// To the nearest 1e-4 (ties away from zero), negative zero made zero.
double rounded_length(double mm);
/// To 6 significant digits, negative zero made zero.
double rounded_6(double value);
/// "12.34": at most `decimals` places, trailing zeros cut, point as separator.
std::string decimal(double value, int decimals);
/// Shortest text that reads back to the same double.
std::string shortest(double value);

}  // namespace bedwright
