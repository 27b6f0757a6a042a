// Random numbers of the survey's tests: one seed, the same on every machine (the standard fixes mt19937_64, not its
// distributions).
#pragma once

#include <cmath>
#include <random>

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : engine_(seed) {}
  /// In [0, 1).
  double even() { return static_cast<double>(engine_() >> 11) * 0x1p-53; }
  double between(double low, double high) { return low + (high - low) * even(); }
  /// Normal, mean 0, standard deviation 1 (Box-Muller).
  double normal() {
    double u = even();
    while (u == 0) u = even();
    return std::sqrt(-2 * std::log(u)) * std::cos(6.283185307179586 * even());
  }
  std::size_t below(std::size_t n) { return static_cast<std::size_t>(even() * static_cast<double>(n)); }

 private:
  std::mt19937_64 engine_;
};
