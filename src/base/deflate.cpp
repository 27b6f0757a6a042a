#include "base/deflate.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstring>
#include <vector>

namespace bedwright {
namespace {

constexpr std::uint32_t adler_base = 65521;
constexpr std::size_t adler_run = 5552;  // so many bytes keep both sums below 2^32 (RFC 1950, 9)
constexpr std::size_t window = 32768, shortest_match = 3, longest_match = 258;
constexpr int tries = 24;  // candidates looked at for each place
constexpr std::size_t hash_size = 1u << 15;

// RFC 1951, 3.2.5.
constexpr std::array<std::size_t, 29> length_base = {3,  4,  5,  6,  7,  8,  9,  10, 11,  13,  15,  17,  19,  23, 27,
                                                     31, 35, 43, 51, 59, 67, 83, 99, 115, 131, 163, 195, 227, 258};
constexpr std::array<int, 29> length_extra = {0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2,
                                              2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 0};
constexpr std::array<std::size_t, 30> distance_base = {1,    2,    3,    4,    5,    7,    9,    13,    17,    25,
                                                       33,   49,   65,   97,   129,  193,  257,  385,   513,   769,
                                                       1025, 1537, 2049, 3073, 4097, 6145, 8193, 12289, 16385, 24577};

class BitWriter {
 public:
  void bits(std::uint32_t value, int count) {
    held_ |= static_cast<std::uint64_t>(value) << have_;
    for (have_ += count; have_ >= 8; have_ -= 8, held_ >>= 8) out_ += static_cast<char>(held_ & 0xff);
  }
  /// Huffman codes go most significant bit first.
  void code(std::uint32_t value, int count) {
    std::uint32_t turned = 0;
    for (int i = 0; i < count; ++i) turned |= (value >> i & 1) << (count - 1 - i);
    bits(turned, count);
  }
  void symbol(int s) {
    if (s < 144)
      code(static_cast<std::uint32_t>(0x30 + s), 8);
    else if (s < 256)
      code(static_cast<std::uint32_t>(0x190 + s - 144), 9);
    else if (s < 280)
      code(static_cast<std::uint32_t>(s - 256), 7);
    else
      code(static_cast<std::uint32_t>(0xc0 + s - 280), 8);
  }
  std::string finished() && {
    if (have_ > 0) bits(0, 8 - have_);
    return std::move(out_);
  }

 private:
  std::string out_;
  std::uint64_t held_ = 0;
  int have_ = 0;
};

template <std::size_t N>
std::size_t row_of(const std::array<std::size_t, N>& base, std::size_t value) {
  return static_cast<std::size_t>(std::upper_bound(base.begin(), base.end(), value) - base.begin()) - 1;
}

/// How many bytes from the first on are the same, at most `most`.
std::size_t same_bytes(const char* a, const char* b, std::size_t most) {
  std::size_t same = 0;
  for (std::uint64_t x, y; same + sizeof x <= most; same += sizeof x) {
    std::memcpy(&x, a + same, sizeof x);
    std::memcpy(&y, b + same, sizeof y);
    if (x != y) break;
  }
  while (same < most && a[same] == b[same]) ++same;
  return same;
}

}  // namespace

std::uint32_t adler32(const std::string& bytes) {
  std::uint32_t a = 1, b = 0;
  for (std::size_t i = 0; i < bytes.size();) {
    for (const std::size_t end = std::min(bytes.size(), i + adler_run); i < end; ++i) {
      a += static_cast<unsigned char>(bytes[i]);
      b += a;
    }
    a %= adler_base;
    b %= adler_base;
  }
  return b << 16 | a;
}

std::string zlib_packed(const std::string& bytes) {
  BitWriter out;
  out.bits(1, 1);  // the last block
  out.bits(1, 2);  // fixed codes
  constexpr std::size_t none = static_cast<std::size_t>(-1);
  // `before` is a ring: what lies farther back than the window is no candidate.
  std::vector<std::size_t> latest(hash_size, none), before(window, none);
  const auto at = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(bytes[i])); };
  const auto enter = [&](std::size_t i) {
    if (i + shortest_match > bytes.size()) return;
    std::size_t& head = latest[(at(i) * 2654435761u ^ at(i + 1) * 40503u * 65537u ^ at(i + 2) * 2246822519u) >> 17];
    before[i % window] = head;
    head = i;
  };
  const auto head_of = [&](std::size_t i) {
    return latest[(at(i) * 2654435761u ^ at(i + 1) * 40503u * 65537u ^ at(i + 2) * 2246822519u) >> 17];
  };
  for (std::size_t i = 0; i < bytes.size();) {
    std::size_t best = 0, distance = 0;
    if (i + shortest_match <= bytes.size()) {
      const std::size_t most = std::min(longest_match, bytes.size() - i);
      std::size_t from = head_of(i);
      for (int k = 0; k < tries && from != none && i - from <= window && best < most; ++k, from = before[from % window]) {
        if (bytes[from + best] != bytes[i + best]) continue;  // no longer than what there is
        const std::size_t same = same_bytes(bytes.data() + from, bytes.data() + i, most);
        if (same > best) best = same, distance = i - from;
      }
    }
    if (best < shortest_match) {
      out.symbol(static_cast<int>(at(i)));
      enter(i++);
      continue;
    }
    const std::size_t l = row_of(length_base, best), d = row_of(distance_base, distance);
    out.symbol(257 + static_cast<int>(l));
    out.bits(static_cast<std::uint32_t>(best - length_base[l]), length_extra[l]);
    out.code(static_cast<std::uint32_t>(d), 5);
    out.bits(static_cast<std::uint32_t>(distance - distance_base[d]), d < 4 ? 0 : static_cast<int>(d / 2 - 1));
    for (const std::size_t end = i + best; i < end;) enter(i++);
  }
  out.symbol(256);
  std::string packed = "\x78\x01" + std::move(out).finished();
  const std::uint32_t sum = adler32(bytes);
  for (int shift = 24; shift >= 0; shift -= 8) packed += static_cast<char>(sum >> shift & 0xff);
  return packed;
}

}  // namespace bedwright
