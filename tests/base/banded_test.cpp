// Band matrices against closed forms; the measured surface's tests hold factor, solve and inverse against dense ones.
#include "base/banded.h"

#include <catch2/catch.hpp>

#include "base/trig.h"

using namespace bedwright;

TEST_CASE("banded: eigenvalues are counted as the closed form of a chain has them") {
  // -1, 2, -1 on a chain of n: eigenvalues 2 - 2 cos(k pi / (n + 1)), k = 1 .. n.
  constexpr std::size_t n = 40;
  Band chain(n, 3), unit(n, 3);
  for (std::size_t i = 0; i < n; ++i) {
    chain.at(i, i) = 2;
    unit.at(i, i) = 1;
    if (i > 0) chain.at(i, i - 1) = -1;
  }
  CHECK(eigenvalues_below(chain, unit, 0) == 0);
  CHECK(eigenvalues_below(chain, unit, 4) == n);
  for (std::size_t k = 1; k <= n; ++k) {
    const double value = 2 - 2 * cos_rad(double(k) * pi / (n + 1));
    CHECK(eigenvalues_below(chain, unit, value - 1e-9) == k - 1);
    CHECK(eigenvalues_below(chain, unit, value + 1e-9) == k);
    // Twice the mass, half the eigenvalue.
    Band heavy = unit;
    for (std::size_t i = 0; i < n; ++i) heavy.at(i, i) = 2;
    CHECK(eigenvalues_below(chain, heavy, value / 2 + 1e-9) == k);
  }
}

TEST_CASE("banded: what is not positive definite is not factored") {
  Band m(3, 1);
  m.at(0, 0) = m.at(1, 1) = m.at(2, 2) = 1;
  m.at(1, 0) = 2;
  CHECK_FALSE(factor(m));
}
