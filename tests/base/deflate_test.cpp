// What is packed here zlib unpacks, whatever the distances of its repeats.
#include "base/deflate.h"

#include <zlib.h>

#include <catch2/catch.hpp>
#include <random>

#include "base/crc32.h"

using namespace bedwright;

namespace {

std::string unpacked(const std::string& packed, std::size_t size) {
  std::string out(size + 1, '\0');
  uLongf length = out.size();
  // Debian's zlib checks the sum at the end as well.
  REQUIRE(uncompress(reinterpret_cast<Bytef*>(out.data()), &length, reinterpret_cast<const Bytef*>(packed.data()),
                     packed.size()) == Z_OK);
  out.resize(length);
  return out;
}

std::string noise(std::size_t n, unsigned seed) {
  std::mt19937 random(seed);
  std::string bytes;
  while (bytes.size() < n) bytes += static_cast<char>(random() >> 24);
  return bytes;
}

}  // namespace

TEST_CASE("deflate: zlib reads back runs, noise and repeats at every distance", "[deflate]") {
  std::string mixed;
  for (unsigned k = 0; k < 40; ++k) mixed += noise(700 + 97 * k, k % 7) + std::string(k * 40, static_cast<char>(k));
  for (const std::string& bytes :
       {std::string(), std::string("a"), std::string(200000, 'x'), noise(100000, 1), mixed, mixed + mixed}) {
    CAPTURE(bytes.size());
    CHECK(unpacked(zlib_packed(bytes), bytes.size()) == bytes);
  }
}

TEST_CASE("deflate: a repeat is found up to 32768 bytes back, and no farther (RFC 1951)", "[deflate]") {
  const auto packed_size = [](std::size_t apart) {
    const std::string bytes = noise(apart, 3);
    const std::string twice = bytes + bytes;
    CHECK(unpacked(zlib_packed(twice), twice.size()) == twice);
    return zlib_packed(twice).size() - zlib_packed(bytes).size();
  };
  // 127 repeats of 258 bytes at 31 bits each, and a little; or all of it again.
  CHECK(packed_size(32768) < 600);
  CHECK(packed_size(32769) > 32000);
}

TEST_CASE("deflate: Adler-32 is zlib's, past the length where its sums are reduced", "[deflate]") {
  for (const std::size_t n : {0, 1, 5551, 5552, 5553, 100000}) {
    const std::string bytes(n, '\xff');
    CHECK(adler32(bytes) == ::adler32(1, reinterpret_cast<const Bytef*>(bytes.data()), static_cast<uInt>(n)));
  }
}

TEST_CASE("deflate: CRC-32 is zlib's, whatever is left over from whole blocks", "[deflate]") {
  std::mt19937 random(3);
  for (std::size_t n = 0; n < 100; ++n) {
    std::string bytes(n < 99 ? n : 100001, '\0');
    for (char& c : bytes) c = static_cast<char>(random());
    CHECK(crc32(bytes) == ::crc32(0, reinterpret_cast<const Bytef*>(bytes.data()), static_cast<uInt>(bytes.size())));
  }
}
