// Expected values by hand from the definitions in numbers.h.
#include "base/numbers.h"

#include <catch2/catch.hpp>
#include <clocale>
#include <cmath>
#include <limits>

using namespace bedwright;

TEST_CASE("lengths are rounded to the nearest 1e-4, ties away from zero", "[numbers]") {
  CHECK(rounded_length(1.23456) == 1.2346);
  CHECK(rounded_length(-1.23456) == -1.2346);
  CHECK(rounded_length(0.5e-4 / 2) == 0);
  CHECK(rounded_length(3.4003) == 3.4003);
  // 2^-2 * 1e-4 steps are not dyadic; a tie that a double holds exactly is 0.03125 = 312.5 steps.
  CHECK(rounded_length(0.03125) == 0.0313);
  CHECK(rounded_length(-0.03125) == -0.0313);
}

TEST_CASE("a small negative length becomes plain zero", "[numbers]") {
  CHECK_FALSE(std::signbit(rounded_length(-1e-9)));
  CHECK_FALSE(std::signbit(rounded_6(-0.0)));
  CHECK(decimal(-0.0001, 2) == "0");
}

TEST_CASE("other values keep six significant digits", "[numbers]") {
  CHECK(rounded_6(123456.7) == 123457);
  CHECK(rounded_6(0.000123456789) == 0.000123457);
  CHECK(rounded_6(-9999999) == -1e7);
  CHECK(rounded_6(0) == 0);
}

TEST_CASE("rounding twice changes nothing", "[numbers]") {
  double v = 0.1234567891;
  for (int i = 0; i < 200; ++i, v *= -1.137) {
    CHECK(rounded_length(rounded_length(v)) == rounded_length(v));
    CHECK(rounded_6(rounded_6(v)) == rounded_6(v));
    CHECK(std::fabs(rounded_6(v) - v) <= 5.0000001e-6 * std::fabs(v));
  }
}

TEST_CASE("decimal cuts trailing zeros and keeps whole numbers whole", "[numbers]") {
  CHECK(decimal(12.340, 3) == "12.34");
  CHECK(decimal(100, 3) == "100");
  CHECK(decimal(100, 0) == "100");
  CHECK(decimal(0.05, 1) == "0.1");
  CHECK(decimal(-2.5, 4) == "-2.5");
  CHECK(decimal(1e300, 2).size() == 301);
}

TEST_CASE("shortest reads back to the same double", "[numbers]") {
  CHECK(shortest(0.1) == "0.1");
  CHECK(shortest(-0.0) == "0");
  CHECK(std::stod(shortest(1.0 / 3.0)) == 1.0 / 3.0);
  CHECK(std::stod(shortest(std::numeric_limits<double>::max())) == std::numeric_limits<double>::max());
}

TEST_CASE("numbers that are not finite pass through", "[numbers]") {
  CHECK(std::isnan(rounded_length(std::nan(""))));
  CHECK(std::isinf(rounded_6(std::numeric_limits<double>::infinity())));
  CHECK(decimal(-std::numeric_limits<double>::infinity(), 2) == "-inf");
}

TEST_CASE("a comma locale does not change a number's text", "[numbers]") {
  const char* old = std::setlocale(LC_NUMERIC, nullptr);
  const std::string before = old ? old : "C";
  for (const char* name : {"de_DE.UTF-8", "fr_FR.UTF-8", "C"})
    if (std::setlocale(LC_NUMERIC, name)) CHECK(decimal(1.5, 2) == "1.5");
  std::setlocale(LC_NUMERIC, before.c_str());
}
