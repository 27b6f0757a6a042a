// A PNG picture of at most 256 colours. Source: ISO/IEC 15948 (PNG), RFC 1950 and 1951 (stored blocks: no packing, so
// that the bytes depend on nothing but the picture).
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

namespace bedwright {

struct Picture {
  int width = 0, height = 0;
  std::vector<std::array<std::uint8_t, 3>> palette;  ///< at most 256
  std::vector<std::uint8_t> pixels;                  ///< width * height indices, rows from the top
};

std::string to_png(const Picture& picture);

/// Red, green, blue, rows from the top.
struct TrueColours {
  int width = 0, height = 0;
  std::vector<std::uint8_t> pixels;  ///< width * height * 3
};
/// Packed by base/deflate, each row as its difference from the one above it: again nothing but the picture decides.
std::string to_png(const TrueColours& picture);

}  // namespace bedwright
