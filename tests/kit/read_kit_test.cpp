// Reading a good kit, and what `--set` does to it.
#include "kit/read_kit.h"

#include <catch2/catch.hpp>

#include "base/error.h"

using namespace bedwright;

namespace {

const std::string north_bench = std::string(BEDWRIGHT_ROOT) + "/params/kits/north-bench.json";

}  // namespace

TEST_CASE("the demo kit reads as its file says", "[kit]") {
  const Kit kit = read_kit_file(north_bench);
  CHECK(kit.name == "north-bench");
  CHECK(kit.frame.dome.shape == "sphere");
  CHECK(kit.frame.dome.radius_mm == 2600);
  CHECK(kit.frame.dome.crown_up);
  CHECK_FALSE(kit.frame.dome.measured_on_upper);
  REQUIRE(kit.frame.holes.size() == 4);
  CHECK(kit.frame.holes[0].id == "front-left");
  CHECK(kit.frame.holes[0].at_mm == Vec2{-98, -75});
  CHECK(kit.frame.holes[1].at_mm == Vec2{98, -75});
  CHECK(kit.frame.holes[2].at_mm == Vec2{-98, 75});
  CHECK(kit.frame.holes[3].id == "rear-right");
  CHECK(kit.carriages.size.length_mm == 34.8);
  CHECK(kit.carriages.clearance_um == 5);
  CHECK(kit.printer.material == "asa");
  REQUIRE(kit.parts.size() == 3);
  CHECK(kit.parts[0].pointer == "/parts/0");
  CHECK(kit.parts[1].quantity == 4);
}
