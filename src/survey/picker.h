// Random choices that are the same on every run and machine. Private to the survey.
#pragma once

#include <cstddef>
#include <cstdint>

namespace bedwright {

/// xorshift64* (S. Vigna, An experimental exploration of Marsaglia's xorshift generators, 2016): good enough to pick
/// samples.
class Picker {
 public:
  std::size_t below(std::size_t n) {
    state_ ^= state_ >> 12;
    state_ ^= state_ << 25;
    state_ ^= state_ >> 27;
    return static_cast<std::size_t>(((state_ * 2685821657736338717ull) >> 33) % n);
  }

 private:
  std::uint64_t state_ = 0x9E3779B97F4A7C15ull;
};

}  // namespace bedwright
