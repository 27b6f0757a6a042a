#include "base/crc32.h"

#include <array>
#include <cstddef>

namespace bedwright {
namespace {

constexpr std::size_t block = 16;  // bytes; M. E. Kounavis, F. L. Berry, Novel Table Lookup-Based Algorithms, 2008

/// What a byte leaves behind after itself and `k` more.
using Rests = std::array<std::array<std::uint32_t, 256>, block>;
constexpr Rests rests_of_bytes() {
  Rests of{};
  for (std::uint32_t n = 0; n < 256; ++n) {
    std::uint32_t c = n;
    for (int k = 0; k < 8; ++k) c = c & 1 ? 0xedb88320u ^ (c >> 1) : c >> 1;
    of[0][n] = c;
  }
  for (std::size_t k = 1; k < block; ++k)
    for (std::size_t n = 0; n < 256; ++n) of[k][n] = of[0][of[k - 1][n] & 0xff] ^ (of[k - 1][n] >> 8);
  return of;
}

constexpr Rests rests = rests_of_bytes();

}  // namespace

std::uint32_t crc32(std::string_view bytes) {
  std::uint32_t c = 0xffffffffu;
  const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(bytes[i])); };
  std::size_t i = 0;
  for (; i + block <= bytes.size(); i += block) {
    c ^= byte(i) | byte(i + 1) << 8 | byte(i + 2) << 16 | byte(i + 3) << 24;
    const std::uint32_t first = rests[15][c & 0xff] ^ rests[14][c >> 8 & 0xff] ^ rests[13][c >> 16 & 0xff] ^
                                rests[12][c >> 24] ^ rests[11][byte(i + 4)] ^ rests[10][byte(i + 5)] ^
                                rests[9][byte(i + 6)] ^ rests[8][byte(i + 7)];
    const std::uint32_t second = rests[7][byte(i + 8)] ^ rests[6][byte(i + 9)] ^ rests[5][byte(i + 10)] ^
                                 rests[4][byte(i + 11)] ^ rests[3][byte(i + 12)] ^ rests[2][byte(i + 13)] ^
                                 rests[1][byte(i + 14)] ^ rests[0][byte(i + 15)];
    c = first ^ second;
  }
  for (; i < bytes.size(); ++i) c = rests[0][(c ^ byte(i)) & 0xff] ^ (c >> 8);
  return c ^ 0xffffffffu;
}

}  // namespace bedwright
