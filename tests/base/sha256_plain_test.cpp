// The portable rounds against the processor's, at every length around a block's end: both are FIPS 180-4.
#include <catch2/catch.hpp>
#include <string>

#include "base/sha256.h"

using namespace bedwright;

TEST_CASE("sha256 by the processor's instructions and by portable code is the same", "[sha256]") {
  std::string text;
  for (int i = 0; i < 300; ++i) {
    CHECK(sha256(text) == sha256_plain(text));
    text += static_cast<char>(i * 37 + 11);
  }
  CHECK(sha256_plain("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");  // NIST
}
