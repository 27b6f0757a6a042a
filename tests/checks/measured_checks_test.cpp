// Findings about measured sheets, carriages and rails: each fed what it looks for, and a neighbour that it leaves
// alone.
#include <catch2/catch.hpp>

#include "checks/checks.h"
#include "kit/hardware.h"
#include "kit/read_kit.h"
#include "parts/part.h"

using namespace bedwright;

namespace {

Kit twist_bench(const std::vector<Setting>& settings = {}) {
  return read_kit_file(std::string(BEDWRIGHT_ROOT) + "/params/kits/twist-bench.json", settings);
}

std::vector<Finding> found(const Kit& kit, const std::string& code,
                           void (*check)(const Known&, std::vector<Finding>&)) {
  const Layout layout = settle(kit);
  std::vector<Finding> all, some;
  check({kit, layout, {}, {}, {}}, all);
  for (const Finding& f : all)
    if (f.code == code) some.push_back(f);
  return some;
}

}  // namespace

TEST_CASE("checks: the burr under the depth gauge is left out by name", "[measured]") {
  Kit kit = twist_bench();
  const auto left_out = found(kit, "measured-left-out", check_measured);
  REQUIRE(left_out.size() == 1);
  CHECK(left_out[0].message.find("x -60, y 40") != std::string::npos);
  CHECK(left_out[0].message.find("above") != std::string::npos);
  CHECK(left_out[0].value == Approx(0.35).margin(0.03));  // put in by hand
  for (Vec3& p : kit.frame.dome.points_mm)
    if (p.x == -60 && p.y == 40) p.z -= 0.35;
  CHECK(found(kit, "measured-left-out", check_measured).empty());
}

TEST_CASE("checks: a plate beyond the points is pointed out, with what that may mean", "[measured]") {
  Kit kit = twist_bench();
  CHECK(found(kit, "measured-beyond", check_measured).empty());
  // The plates reach about 105 mm to the sides: points up to 100 leave some of that out, up to 120 nothing.
  std::vector<Vec3> near;
  for (const Vec3& p : kit.frame.dome.points_mm)
    if (p.x <= 100) near.push_back(p);
  kit.frame.dome.points_mm = near;
  const auto beyond = found(kit, "measured-beyond", check_measured);
  REQUIRE(beyond.size() == 2);
  CHECK(beyond[0].message.find("front-right") != std::string::npos);
  CHECK(beyond[1].message.find("rear-right") != std::string::npos);
  CHECK(beyond[0].value > 2);
  CHECK(beyond[0].value < beyond[0].limit);
}

TEST_CASE("checks: readings that scatter are called rough", "[measured]") {
  Kit kit = twist_bench();
  CHECK(found(kit, "measured-rough", check_measured).empty());
  unsigned long long state = 20261125;  // even between -0.2 and 0.2 mm: a standard deviation of 0.115
  for (Vec3& p : kit.frame.dome.points_mm) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    p.z += 0.4 * (static_cast<double>(state >> 11) / 9007199254740992.0 - 0.5);
  }
  CAPTURE(settle(kit).underside.measured->noise_mm, settle(kit).underside.measured->free_values);
  CHECK(found(kit, "measured-rough", check_measured).size() == 1);
}

TEST_CASE("checks: carriages of unequal height, and what shim helps", "[pairing]") {
  Kit kit = twist_bench();
  const auto uneven = found(kit, "carriage-height", check_carriages);
  REQUIRE(uneven.size() == 2);
  CHECK(uneven[0].value == Approx(0.008));
  CHECK(uneven[0].limit == Approx(0.0045));
  CHECK(uneven[0].message.find("b at rear-left") != std::string::npos);
  CHECK(uneven[0].remedy.find("0.008 mm on b") != std::string::npos);
  for (MeasuredCarriage& c : kit.carriages.measured) c.height_mm = 13.01;
  CHECK(found(kit, "carriage-height", check_carriages).empty());
  kit.carriages.measured.clear();
  CHECK(found(kit, "carriage-height", check_carriages).empty());
}

TEST_CASE("checks: a carriage whose holes the plate would miss", "[pairing]") {
  Kit kit = twist_bench();
  CHECK(found(kit, "carriage-hole-pitch", check_carriages).empty());
  // M3 in 3.4 takes up 0.4 mm along the rail; across, the slots of 1 mm add 2.
  kit.carriages.measured[3].hole_pitch_mm = Vec2{22.3, 15.39};
  CHECK(found(kit, "carriage-hole-pitch", check_carriages).empty());
  kit.carriages.measured[3].hole_pitch_mm = Vec2{20, 15.5};
  const auto off = found(kit, "carriage-hole-pitch", check_carriages);
  REQUIRE(off.size() == 1);
  CHECK(off[0].message.find("carriage d at front-right") != std::string::npos);
  CHECK(off[0].limit == Approx(0.4));
}

TEST_CASE("checks: a rail whose length does not tell its holes", "[rails]") {
  const Kit told = twist_bench();
  CHECK(found(told, "rail-holes", check_carriages).empty());
  // 40 mm pitch, end distance 15 by the table: 370 mm are 9 holes from 25 mm, or 10 from 5 mm.
  Kit open = twist_bench();
  open.rails.size = *find_rail("mini-15");
  open.rails.length_mm = 370;
  const auto either = found(open, "rail-holes", check_carriages);
  REQUIRE(either.size() == 1);
  CHECK(either[0].message.find("9 holes, the first at 25 mm, or 10, the first at 5 mm") != std::string::npos);
}
