#include "base/crc32.h"

#include <array>

namespace bedwright {
namespace {

constexpr std::array<std::uint32_t, 256> crc_table() {
  std::array<std::uint32_t, 256> rests{};
  for (std::uint32_t n = 0; n < 256; ++n) {
    std::uint32_t c = n;
    for (int k = 0; k < 8; ++k) c = c & 1 ? 0xedb88320u ^ (c >> 1) : c >> 1;
    rests[n] = c;
  }
  return rests;
}

constexpr std::array<std::uint32_t, 256> table = crc_table();

}  // namespace

std::uint32_t crc32(std::string_view bytes) {
  std::uint32_t c = 0xffffffffu;
  for (const char b : bytes) c = table[(c ^ static_cast<unsigned char>(b)) & 0xff] ^ (c >> 8);
  return c ^ 0xffffffffu;
}

}  // namespace bedwright
