// A fixed sequence of numbers, the same on every machine: a 64-bit linear congruential generator (Knuth's MMIX
// constants, from memory).
#pragma once

constexpr unsigned long long seed = 20261125;

struct Sequence {
  unsigned long long state = seed;
  double next() {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<double>(state >> 11) / 9007199254740992.0;
  }
  double between(double low, double high) { return low + (high - low) * next(); }
  /// Nearly normal, standard deviation 1: twelve even ones less six (textbook).
  double normal() {
    double sum = -6;
    for (int i = 0; i < 12; ++i) sum += next();
    return sum;
  }
};
