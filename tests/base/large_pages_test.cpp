#include "base/large_pages.h"

#include <catch2/catch.hpp>
#include <cstdint>
#include <numeric>

using namespace bedwright;

TEST_CASE("large pages: a list with the hint holds what one without it holds, small or large") {
  for (const std::size_t count : {std::size_t{0}, std::size_t{1}, std::size_t{1000}, std::size_t{3000001}}) {
    std::vector<std::uint32_t> hinted{7, 8}, plain{7, 8};
    reserve_large(hinted, count);
    CHECK(hinted == plain);
    CHECK(hinted.capacity() >= count);
    hinted.resize(count + 2);
    plain.resize(count + 2);
    CHECK(hinted == plain);
    std::iota(hinted.begin(), hinted.end(), 0u);
    std::iota(plain.begin(), plain.end(), 0u);
    CHECK(hinted == plain);
    assign_large(hinted, count, 5u);
    CHECK(hinted == std::vector<std::uint32_t>(count, 5));
  }
}
