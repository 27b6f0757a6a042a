#include "output/png.h"

#include <algorithm>

#include "base/crc32.h"
#include "base/deflate.h"

namespace bedwright {
namespace {

constexpr std::size_t stored_block_bytes = 65535;  // RFC 1951, 3.2.4

void put_big_endian(std::string& out, std::uint32_t value) {
  for (int shift = 24; shift >= 0; shift -= 8) out += static_cast<char>((value >> shift) & 0xff);
}

void put_chunk(std::string& png, const std::string& name, const std::string& data) {
  put_big_endian(png, static_cast<std::uint32_t>(data.size()));
  png += name + data;
  put_big_endian(png, crc32(name + data));
}

std::string stored_stream(const std::string& bytes) {
  std::string out = "\x78\x01";  // deflate, 32 KiB window, no dictionary
  std::size_t at = 0;
  do {
    const std::size_t size = std::min(stored_block_bytes, bytes.size() - at);
    out += at + size == bytes.size() ? '\1' : '\0';
    for (const std::size_t n : {size, ~size}) {
      out += static_cast<char>(n & 0xff);
      out += static_cast<char>(n >> 8 & 0xff);
    }
    out.append(bytes, at, size);
    at += size;
  } while (at < bytes.size());
  put_big_endian(out, adler32(bytes));
  return out;
}

}  // namespace

std::string to_png(const Picture& picture) {
  std::string header;
  put_big_endian(header, static_cast<std::uint32_t>(picture.width));
  put_big_endian(header, static_cast<std::uint32_t>(picture.height));
  header += std::string("\x08\x03\0\0\0", 5);  // 8 bits, palette, deflate, no filter, not interlaced
  std::string palette, rows;
  for (const auto& colour : picture.palette)
    for (const std::uint8_t c : colour) palette += static_cast<char>(c);
  const auto width = static_cast<std::size_t>(picture.width);
  for (std::size_t y = 0; y < static_cast<std::size_t>(picture.height); ++y) {
    rows += '\0';
    rows.append(picture.pixels.begin() + static_cast<std::ptrdiff_t>(y * width),
                picture.pixels.begin() + static_cast<std::ptrdiff_t>((y + 1) * width));
  }
  std::string png = "\x89PNG\r\n\x1a\n";
  put_chunk(png, "IHDR", header);
  put_chunk(png, "PLTE", palette);
  put_chunk(png, "IDAT", stored_stream(rows));
  put_chunk(png, "IEND", "");
  return png;
}

std::string to_png(const TrueColours& picture) {
  std::string header;
  put_big_endian(header, static_cast<std::uint32_t>(picture.width));
  put_big_endian(header, static_cast<std::uint32_t>(picture.height));
  header += std::string("\x08\x02\0\0\0", 5);  // 8 bits, red green blue, deflate, filters, not interlaced
  std::string rows;
  const std::size_t row = static_cast<std::size_t>(picture.width) * 3;
  rows.reserve((row + 1) * static_cast<std::size_t>(picture.height));
  for (std::size_t y = 0; y < static_cast<std::size_t>(picture.height); ++y) {
    rows += y == 0 ? '\0' : '\2';  // none; up
    for (std::size_t k = y * row; k < (y + 1) * row; ++k)
      rows += static_cast<char>(picture.pixels[k] - (y == 0 ? 0 : picture.pixels[k - row]));
  }
  std::string png = "\x89PNG\r\n\x1a\n";
  put_chunk(png, "IHDR", header);
  put_chunk(png, "IDAT", zlib_packed(rows));
  put_chunk(png, "IEND", "");
  return png;
}

}  // namespace bedwright
