#include "base/sha256.h"

#include <array>
#include <cstdint>
#include <cstring>

namespace bedwright {
namespace {

using Word = std::uint32_t;

// FIPS 180-4 section 4.2.2: fractional parts of the cube roots of the first 64 primes.
constexpr std::array<Word, 64> round_constants = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

Word turned_right(Word x, int n) {
  return (x >> n) | (x << (32 - n));
}

void add_block(std::array<Word, 8>& hash, const unsigned char* block) {
  std::array<Word, 64> w;
  for (int t = 0; t < 16; ++t)
    w[t] = Word(block[4 * t]) << 24 | Word(block[4 * t + 1]) << 16 | Word(block[4 * t + 2]) << 8 | block[4 * t + 3];
  for (int t = 16; t < 64; ++t) {
    const Word small0 = turned_right(w[t - 15], 7) ^ turned_right(w[t - 15], 18) ^ (w[t - 15] >> 3);
    const Word small1 = turned_right(w[t - 2], 17) ^ turned_right(w[t - 2], 19) ^ (w[t - 2] >> 10);
    w[t] = w[t - 16] + small0 + w[t - 7] + small1;
  }
  auto [a, b, c, d, e, f, g, h] = hash;
  for (int t = 0; t < 64; ++t) {
    const Word big1 = turned_right(e, 6) ^ turned_right(e, 11) ^ turned_right(e, 25);
    const Word choose = (e & f) ^ (~e & g);
    const Word t1 = h + big1 + choose + round_constants[t] + w[t];
    const Word big0 = turned_right(a, 2) ^ turned_right(a, 13) ^ turned_right(a, 22);
    const Word majority = (a & b) ^ (a & c) ^ (b & c);
    h = g;
    g = f;
    f = e;
    e = d + t1;
    d = c;
    c = b;
    b = a;
    a = t1 + big0 + majority;
  }
  const std::array<Word, 8> worked = {a, b, c, d, e, f, g, h};
  for (int i = 0; i < 8; ++i) hash[i] += worked[i];
}

}  // namespace

std::string sha256(const std::string& bytes) {
  // Square roots of the first eight primes, FIPS 180-4 section 5.3.3.
  std::array<Word, 8> hash = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                              0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
  const std::size_t whole = bytes.size() / 64 * 64, rest = bytes.size() - whole;
  for (std::size_t i = 0; i < whole; i += 64) add_block(hash, data + i);

  std::array<unsigned char, 128> tail{};
  if (rest > 0) std::memcpy(tail.data(), data + whole, rest);
  tail[rest] = 0x80;
  const std::size_t tail_size = rest < 56 ? 64 : 128;
  const std::uint64_t bits = std::uint64_t(bytes.size()) * 8;
  for (int i = 0; i < 8; ++i) tail[tail_size - 1 - i] = static_cast<unsigned char>(bits >> (8 * i));
  for (std::size_t i = 0; i < tail_size; i += 64) add_block(hash, tail.data() + i);

  static constexpr char digits[] = "0123456789abcdef";
  std::string text;
  text.reserve(64);
  for (Word w : hash)
    for (int nibble = 28; nibble >= 0; nibble -= 4) text += digits[(w >> nibble) & 15];
  return text;
}

}  // namespace bedwright
