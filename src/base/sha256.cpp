#include "base/sha256.h"

#include <array>
#include <cstdint>
#include <cstring>

// Processors of the last years have the rounds as instructions: less time, the same bits.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__EMSCRIPTEN__)
#define BEDWRIGHT_SHA_INSTRUCTIONS 1
#include <cpuid.h>
#include <immintrin.h>
#endif

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

#ifdef BEDWRIGHT_SHA_INSTRUCTIONS
/// Intel Architecture Instruction Set Extensions, chapter 8: the state lies as ABEF and CDGH in two registers.
__attribute__((target("sha,sse4.1"))) void add_blocks_by_instructions(std::array<Word, 8>& hash,
                                                                      const unsigned char* data, std::size_t blocks) {
  const __m128i big_endian = _mm_set_epi64x(0x0c0d0e0f08090a0bLL, 0x0405060700010203LL);
  const auto* from = reinterpret_cast<const __m128i*>(hash.data());
  const __m128i cdab = _mm_shuffle_epi32(_mm_loadu_si128(from), 0xB1);
  const __m128i efgh = _mm_shuffle_epi32(_mm_loadu_si128(from + 1), 0x1B);
  __m128i abef = _mm_alignr_epi8(cdab, efgh, 8), cdgh = _mm_blend_epi16(efgh, cdab, 0xF0);
  for (; blocks > 0; --blocks, data += 64) {
    const __m128i abef_before = abef, cdgh_before = cdgh;
    __m128i w[4];
    for (int i = 0; i < 4; ++i)
      w[i] = _mm_shuffle_epi8(_mm_loadu_si128(reinterpret_cast<const __m128i*>(data) + i), big_endian);
    for (int four = 0; four < 16; ++four) {
      __m128i& now = w[four & 3];
      if (four >= 4) {
        const __m128i before = w[(four + 3) & 3];
        const __m128i seven_back = _mm_alignr_epi8(before, w[(four + 2) & 3], 4);
        now = _mm_sha256msg2_epu32(_mm_add_epi32(_mm_sha256msg1_epu32(now, w[(four + 1) & 3]), seven_back), before);
      }
      const __m128i sum =
          _mm_add_epi32(now, _mm_loadu_si128(reinterpret_cast<const __m128i*>(round_constants.data()) + four));
      cdgh = _mm_sha256rnds2_epu32(cdgh, abef, sum);
      abef = _mm_sha256rnds2_epu32(abef, cdgh, _mm_shuffle_epi32(sum, 0x0E));
    }
    abef = _mm_add_epi32(abef, abef_before);
    cdgh = _mm_add_epi32(cdgh, cdgh_before);
  }
  const __m128i feba = _mm_shuffle_epi32(abef, 0x1B), dchg = _mm_shuffle_epi32(cdgh, 0xB1);
  auto* to = reinterpret_cast<__m128i*>(hash.data());
  _mm_storeu_si128(to, _mm_blend_epi16(feba, dchg, 0xF0));
  _mm_storeu_si128(to + 1, _mm_alignr_epi8(dchg, feba, 8));
}

bool has_sha_instructions() {
  unsigned a = 0, b = 0, c = 0, d = 0;
  if (!__get_cpuid(1, &a, &b, &c, &d) || !(c & bit_SSE4_1)) return false;
  return __get_cpuid_count(7, 0, &a, &b, &c, &d) && (b & bit_SHA);
}
#endif

void add_blocks(std::array<Word, 8>& hash, const unsigned char* data, std::size_t blocks, bool plain) {
#ifdef BEDWRIGHT_SHA_INSTRUCTIONS
  static const bool instructions = has_sha_instructions();
  if (instructions && !plain) return add_blocks_by_instructions(hash, data, blocks);
#else
  static_cast<void>(plain);
#endif
  for (std::size_t i = 0; i < blocks; ++i) add_block(hash, data + 64 * i);
}

std::string hashed(const std::string& bytes, bool plain) {
  // Square roots of the first eight primes, FIPS 180-4 section 5.3.3.
  std::array<Word, 8> hash = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                              0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  const auto* data = reinterpret_cast<const unsigned char*>(bytes.data());
  const std::size_t whole = bytes.size() / 64 * 64, rest = bytes.size() - whole;
  add_blocks(hash, data, whole / 64, plain);

  std::array<unsigned char, 128> tail{};
  if (rest > 0) std::memcpy(tail.data(), data + whole, rest);
  tail[rest] = 0x80;
  const std::size_t tail_size = rest < 56 ? 64 : 128;
  const std::uint64_t bits = std::uint64_t(bytes.size()) * 8;
  for (int i = 0; i < 8; ++i) tail[tail_size - 1 - i] = static_cast<unsigned char>(bits >> (8 * i));
  add_blocks(hash, tail.data(), tail_size / 64, plain);

  static constexpr char digits[] = "0123456789abcdef";
  std::string text;
  text.reserve(64);
  for (Word w : hash)
    for (int nibble = 28; nibble >= 0; nibble -= 4) text += digits[(w >> nibble) & 15];
  return text;
}

}  // namespace

std::string sha256(const std::string& bytes) {
  return hashed(bytes, false);
}

std::string sha256_plain(const std::string& bytes) {
  return hashed(bytes, true);
}

}  // namespace bedwright
