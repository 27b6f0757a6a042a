// Carriages to corners against brute force, makers' examples, and rail holes against dimension libraries.
#include <algorithm>
#include <catch2/catch.hpp>
#include <numeric>

#include "kit/hardware.h"
#include "layout/bench_kit.h"
#include "layout/layout.h"
#include "sequence.h"

using namespace bedwright;

namespace {

double worst_of(const std::vector<MeasuredCarriage>& m, const std::vector<std::size_t>& order,
                const GuidewayLimits& l) {
  const auto h = [&](std::size_t placement) { return m[order[placement]].height_mm; };
  return 100 * std::max({std::fabs(h(0) - h(1)) / l.across_mm, std::fabs(h(2) - h(3)) / l.across_mm,
                         std::fabs(h(0) - h(2)) / l.along_mm, std::fabs(h(1) - h(3)) / l.along_mm});
}

}  // namespace

TEST_CASE("pairing: limits are those of the makers' examples", "[pairing]") {
  Kit kit = bench_kit();
  // Makers' manual: 0.00015 x 120 = 0.018 mm (light); at 176 mm 0.044 (zero) and 0.026 (light); at 100 mm about 0.005.
  kit.rails.pitch_mm = 176;
  kit.carriages.spacing_mm = 100;
  CHECK(guideway_limits(kit).across_mm == Approx(0.044));
  CHECK(guideway_limits(kit).along_mm == Approx(0.005));
  kit.carriages.clearance_um = -1;  // pressed in: light preload
  CHECK(guideway_limits(kit).across_mm == Approx(0.0264));
  kit.rails.pitch_mm = 120;
  CHECK(guideway_limits(kit).across_mm == Approx(0.018));
  kit.carriages.size.id = "mini-12-long";
  CHECK(guideway_limits(kit).along_mm == Approx(0.004));
}

TEST_CASE("pairing: the best order is that of brute force, and no carriage leaves its rail", "[pairing]") {
  INFO("seed " << seed);
  Sequence random;
  const GuidewayLimits limits{0.0375, 0.0045};
  for (int k = 0; k < 300; ++k) {
    CAPTURE(k);
    const std::size_t n = 4 + static_cast<std::size_t>(k % 3);
    std::vector<MeasuredCarriage> m(n);
    for (std::size_t i = 0; i < n; ++i) {
      m[i].id = std::string(1, static_cast<char>('a' + i));
      m[i].height_mm = 13 + std::round(60 * random.next()) / 1000;
      if (k % 2) m[i].rail = random.next() < 0.3 ? "left" : random.next() < 0.4 ? "right" : "";
    }
    const auto stays = [&](std::size_t c, std::size_t placement) {
      return m[c].rail.empty() || (m[c].rail == "left") == (placement % 2 == 0);
    };
    std::vector<std::size_t> order(n);
    std::iota(order.begin(), order.end(), 0u);
    double least = 1e300;
    int possible = 0;
    do {
      bool ok = true;
      for (std::size_t i = 0; i < 4; ++i) ok = ok && stays(order[i], i);
      // Each choice of the first four once, not for every order of the spares.
      if (!ok || !std::is_sorted(order.begin() + 4, order.end())) continue;
      ++possible;
      least = std::min(least, worst_of(m, order, limits));
    } while (std::next_permutation(order.begin(), order.end()));
    const auto p = pair_carriages(m, limits);
    REQUIRE(p.has_value() == (possible > 0));
    if (!p) continue;
    CHECK(p->orders == possible);
    CHECK(p->worst_percent == Approx(least).margin(1e-5));
    CHECK(worst_of(m, {p->carriage.begin(), p->carriage.end()}, limits) == Approx(least).margin(1e-5));
    const double highest = *std::max_element(p->height_mm.begin(), p->height_mm.end());
    for (std::size_t i = 0; i < 4; ++i) {
      CHECK(stays(p->carriage[i], i));
      CHECK(p->height_mm[i] == m[p->carriage[i]].height_mm);
      CHECK(p->height_mm[i] + p->shim_mm[i] == Approx(highest).epsilon(1e-15));
      CHECK(p->shim_mm[i] >= 0);
    }
    CHECK(p->spare.size() == n - 4);
  }
}

TEST_CASE("pairing: equal ones go by the list, four of one height need nothing", "[pairing]") {
  std::vector<MeasuredCarriage> m(4);
  for (MeasuredCarriage& c : m) c.height_mm = 13;
  const auto p = pair_carriages(m, {0.03, 0.004});
  REQUIRE(p);
  CHECK(p->carriage == std::array<std::size_t, 4>{0, 1, 2, 3});
  CHECK(p->orders == 24);
  CHECK(p->worst_percent == 0);
  m.pop_back();
  CHECK_FALSE(pair_carriages(m, {0.03, 0.004}));
  // By hand: 13.00 and 13.01 fit together, 13.20 and 13.21 do: one pair a rail, the higher of each at the same end.
  m = {{"a", "", 13.21, {}, {}}, {"b", "", 13.00, {}, {}}, {"c", "", 13.20, {}, {}}, {"d", "", 13.01, {}, {}}};
  const auto q = pair_carriages(m, {0.0375, 0.0045});
  REQUIRE(q);
  CHECK(q->steps[2].used_percent() == Approx(100 * 0.01 / 0.0045));
  CHECK(q->steps[0].used_percent() == Approx(100 * 0.2 / 0.0375));
  CHECK(q->steps[1].used_percent() == Approx(100 * 0.2 / 0.0375));
}

TEST_CASE("layout: carriages as measured drive travel", "[pairing]") {
  Kit kit = bench_kit();
  const double before = settle(kit).travel_available_mm;
  kit.carriages.measured = {
      {"a", "left", 13, 36.0, {}}, {"b", "left", 13, 35.0, {}}, {"c", "right", 13, {}, {}}, {"d", "right", 13, {}, {}}};
  const Layout l = settle(kit);
  REQUIRE(l.pairing);
  // The left rail carries 36 and 35, the right one twice the 34.8 of the table: half a body at each end.
  CHECK(before - l.travel_available_mm == Approx((36 + 35) / 2.0 - 34.8));
}

TEST_CASE("rail holes: count and offset from the length", "[rails]") {
  // Dimension libraries and owners' rails (trade notes): pitch 20: 150 -> 5, 200 -> 10; with another least end distance
  // 150 has 7 holes and 15; pitch 25: 300, 350, 400 -> 12, 14, 16 holes, 12.5.
  const struct {
    double length, pitch, least;
    int count;
    double first;
  } rows[] = {{150, 20, 5, 8, 5},      {200, 20, 5, 10, 10},    {150, 20, 7.5, 7, 15},  {200, 20, 7.5, 10, 10},
              {300, 25, 10, 12, 12.5}, {350, 25, 10, 14, 12.5}, {400, 25, 10, 16, 12.5}};
  for (const auto& row : rows) {
    CAPTURE(row.length, row.least);
    CHECK(rail_holes(row.length, row.pitch, row.least).count == row.count);
    CHECK(rail_holes(row.length, row.pitch, row.least).first_mm == Approx(row.first));
  }
  CHECK(rail_holes(12, 20, 7.5).count == 0);
  const auto ways = possible_rail_holes(150, 20, 4.5, 7.5);
  REQUIRE(ways.size() == 2);
  CHECK(ways[0].count == 8);
  CHECK(ways[0].first_mm == Approx(5));
  CHECK(ways[1].count == 7);
  CHECK(ways[1].first_mm == Approx(15));
  CHECK(possible_rail_holes(200, 20, 4.5, 7.5).size() == 1);
  for (const double length : {300.0, 350.0, 400.0}) CHECK(possible_rail_holes(length, 25, 4.5, 10).size() == 1);
}

TEST_CASE("layout: an ambiguous rail is pointed out, a measured first hole settles it", "[rails]") {
  Kit kit = bench_kit();
  kit.rails.size = *find_rail("mini-9");
  kit.rails.length_mm = 150;
  const Layout open = settle(kit);
  CHECK(open.rail_holes == 7);
  REQUIRE(open.other_rail_holes.size() == 1);
  CHECK(open.other_rail_holes[0].count == 8);
  kit.rails.size.end_distance_mm = 5;
  const Layout told = settle(kit);
  CHECK(told.rail_holes == 8);
  CHECK(told.rail_first_hole_mm == Approx(5));
  CHECK(told.other_rail_holes.empty());
  // Measured, but not what an evenly cut rail of that length has: the other end is told.
  kit.rails.size.end_distance_mm = 8;
  bool said = false;
  for (const std::string& a : settle(kit).assumptions)
    said = said || a.find("the rail's other end has 22") != std::string::npos;
  CHECK(said);
}
