// Numbers to text and back without <charconv>, held to <charconv>.
#include "base/chars.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <limits>
#include <random>

#include "base/numbers.h"

using namespace bedwright;

namespace {

void alike(double v) {
  CAPTURE(v);
  CHECK(shortest_chars_by_hand(v) == shortest_chars(v));
  for (const int places : {0, 1, 4, 17}) CHECK(fixed_chars_by_hand(v, places) == fixed_chars(v, places));
  for (const int places : {0, 5, 16}) CHECK(scientific_chars_by_hand(v, places) == scientific_chars(v, places));
}

void read_alike(const std::string& text) {
  for (const bool exponent : {true, false}) {
    CAPTURE(text, exponent);
    double one = -7, other = -7;
    const ReadChars a = read_chars(text, one, exponent), b = read_chars_by_hand(text, other, exponent);
    CHECK(a.error == b.error);
    if (a.error != std::errc::invalid_argument) CHECK(a.length == b.length);
    CHECK(std::memcmp(&one, &other, sizeof one) == 0);
  }
}

}  // namespace

TEST_CASE("chars: by hand as by the standard library, for numbers of every size", "[base]") {
  for (const double v : {0.0,
                         -0.0,
                         1.0,
                         -1.0,
                         0.1,
                         100000.0,
                         1e5,
                         123456.0,
                         1e22,
                         1e23,
                         9007199254740993.0,
                         1.5e300,
                         5e-324,
                         0.0001,
                         0.00001,
                         1e-7,
                         1234567890123456789.0,
                         2400.0,
                         2.5e-5,
                         12345678.9})
    alike(v);
  alike(std::numeric_limits<double>::max());
  alike(std::numeric_limits<double>::min());
  std::mt19937_64 random(20261126);
  for (int i = 0; i < 20000; ++i) {
    const std::uint64_t bits = random();
    double v;
    std::memcpy(&v, &bits, sizeof v);
    if (std::isfinite(v)) alike(v);
  }
  std::uniform_real_distribution<double> usual(-1000, 1000);
  for (int i = 0; i < 20000; ++i) {
    const double v = usual(random);
    alike(v);
    alike(std::round(v * 10000) / 10000);
    read_alike(shortest_chars(v) + " mm");
    read_alike(scientific_chars(v, 3));
  }
}

TEST_CASE("chars: what is no number, or beyond a double, is told alike", "[base]") {
  for (const char* text : {"",
                           "-",
                           ".",
                           "-.",
                           "+1",
                           " 1",
                           "1.",
                           ".5",
                           "-.5e3",
                           "1e",
                           "1e+",
                           "1e-2x",
                           "0x10",
                           "1e400",
                           "-1e400",
                           "1e-400",
                           "0e400",
                           "00012.50",
                           "1.2.3",
                           "1,5",
                           "e5",
                           "--1",
                           "9.99999999999999999999e2"})
    read_alike(text);
}

TEST_CASE("chars: a length rounded is the double that its four decimals read as", "[base]") {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> usual(-1e6, 1e6);
  for (int i = 0; i < 20000; ++i) {
    const double v = usual(random), rounded = rounded_length(v);
    double read = 0;
    read_chars(fixed_chars(rounded, 4), read);
    CHECK(read == rounded);
    CHECK(std::fabs(rounded - v) <= 0.50001e-4);
  }
}
