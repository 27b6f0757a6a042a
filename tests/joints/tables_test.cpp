// Lengths, nuts, washers, threads and forces against what is published outside.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "joints/clamp.h"
#include "joints/float.h"
#include "joints/joints.h"
#include "joints/stack.h"
#include "kit/csv.h"
#include "kit/hardware.h"

using namespace bedwright;

TEST_CASE("lengths and their choice are those of the ISO 888 table", "[joints]") {
  const auto rows = read_reference("iso888_lengths");
  REQUIRE(rows.size() > 20);
  for (const char* thread : {"M3", "M4", "M5"}) {
    const std::vector<StockLength> lengths = standard_lengths(thread);
    const double shortest = lengths.front().mm;
    std::size_t i = 0;
    for (const CsvRow& row : rows) {
      if (number_of(row.at("length_mm")) < shortest) continue;
      CAPTURE(thread, row.at("length_mm"));
      REQUIRE(i < lengths.size());
      CHECK(lengths[i].mm == number_of(row.at("length_mm")));
      CHECK(lengths[i].choice == static_cast<int>(number_of(row.at("choice"))));
      ++i;
    }
    CHECK(i == lengths.size());
  }
  // Shortest lengths of ISO 4762:2004, from memory.
  CHECK(standard_lengths("M3").front().mm == 5);
  CHECK(standard_lengths("M4").front().mm == 6);
  CHECK(standard_lengths("M5").front().mm == 8);
}

TEST_CASE("a screw's own length tolerance is js15", "[joints]") {
  // Limits that ISO 4762 prints beside the lengths (from memory): 8 is 7.71 to 8.29, 12 11.65 to 12.35,
  // 20 19.58 to 20.42, 35 34.5 to 35.5, 55 54.4 to 55.6.
  CHECK(length_tolerance_mm(8) == Approx(0.29));
  CHECK(length_tolerance_mm(12) == Approx(0.35));
  CHECK(length_tolerance_mm(20) == Approx(0.42));
  CHECK(length_tolerance_mm(35) == Approx(0.50));
  CHECK(length_tolerance_mm(55) == Approx(0.60));
}

TEST_CASE("least engagement: five pitches of ISO 261, in a nut no more than its ISO 4032 height", "[joints]") {
  for (const CsvRow& row : read_reference("threads_stress_area")) {
    CAPTURE(row.at("thread"));
    CHECK(least_engagement_mm(row.at("thread")) == Approx(5 * number_of(row.at("pitch_coarse_mm"))));
  }
  const auto nuts = read_reference("iso4032_nut");
  REQUIRE(nuts.size() == 7);
  for (const CsvRow& row : nuts) {
    const std::string thread = row.at("thread");
    CAPTURE(thread);
    const double five = 5 * find_thread(thread)->pitch_mm;
    CHECK(least_engagement_mm(thread, {"nut", 10, false, ""}) == Approx(std::min(five, number_of(row.at("m_max_mm")))));
  }
  CHECK(least_engagement_mm("M3", {"nut", 2.4, false, ""}) == Approx(2.4));
  CHECK(least_engagement_mm("M5", {"nut", 4.7, false, ""}) == Approx(4.0));
  CHECK(least_engagement_mm("M7") == 0);
}

TEST_CASE("stress area by the formula is what is published", "[joints]") {
  // ISO 898-1, three significant digits: half a unit of the last is the tolerance.
  CHECK(stress_area_mm2(3, 0.5) == Approx(5.03).margin(0.005));
  CHECK(stress_area_mm2(4, 0.7) == Approx(8.78).margin(0.005));
  for (const CsvRow& row : read_reference("threads_stress_area")) {
    CAPTURE(row.at("thread"));
    CHECK(stress_area_mm2(number_of(row.at("d_mm")), number_of(row.at("pitch_coarse_mm"))) ==
          Approx(number_of(row.at("As_computed_mm2"))).margin(2e-3));
  }
}

TEST_CASE("floating and fixed fasteners share their play as the formulas say", "[joints]") {
  // Worked example of a geometrical tolerancing text: M3 in 3.4.
  CHECK(floating_zone_mm(3.4, 3) == Approx(0.4));
  CHECK(fixed_zone_mm(3.4, 3) == Approx(0.2));
  CHECK(floating_zone_mm(2.9, 3) < 0);
  // Second method: both holes at their worst position, the pin just passes.
  for (const char* thread : {"M3", "M4", "M5"}) {
    const double hole = clearance_hole_mm(thread, "medium"), screw = find_thread(thread)->diameter_mm;
    const double shift = floating_zone_mm(hole, screw) / 2;  // each hole's axis off its place, against each other
    const double left = -shift + -hole / 2, right = shift - hole / 2;
    CHECK((shift + hole / 2 - right) - (right - left) == Approx(screw));
  }
}

TEST_CASE("a stack adds up in the worst case and by root sum of squares", "[joints]") {
  // Published example: 40 +- 0.10, 25 +- 0.05, 2 +- 0.03, 10 +- 0.05 is +- 0.23 and +- 0.126.
  const Stack stack = stack_of({{40, 0.10}, {25, 0.05}, {2, 0.03}, {10, 0.05}});
  CHECK(stack.mm == Approx(77));
  CHECK(stack.worst_mm == Approx(0.23));
  CHECK(stack.rss_mm == Approx(0.126).margin(0.0005));
  CHECK(stack_of({}).rss_mm == 0);
}

TEST_CASE("clamp force and stress are those of the trade's example", "[joints]") {
  // 0.5 N.m on M3: 830 N, 57 MPa under a bare 5.5 head, 28 under a 7 washer, 15 under a 9 washer, hole 3.4.
  // Common practice, no source; rounded there, hence the margins.
  const double force = clamp_force_n(0.5, 3);
  CHECK(force == Approx(833.3).margin(0.1));
  CHECK(torque_for_nm(force, 3) == Approx(0.5));
  CHECK(force / bearing_area_mm2(5.5, 3.4, 0) == Approx(57).margin(0.5));
  CHECK(force / bearing_area_mm2(7, 3.4, 0) == Approx(28).margin(0.5));
  CHECK(force / bearing_area_mm2(9, 3.4, 0) == Approx(15).margin(0.5));
}

TEST_CASE("a bearing area over a slot is what is left of the ring", "[joints]") {
  CHECK(bearing_area_mm2(3.4, 3.4, 0) == 0);
  CHECK(bearing_area_mm2(5.5, 3.4, 1) == Approx(bearing_area_mm2(5.5, 3.4, 0) - 3.4));
  // Second method: count points of a fine grid.
  for (double slot : {0.0, 0.8, 2.1}) {
    const double outer = 5.5, hole = 3.4, step = 0.01;
    double counted = 0;
    for (double x = -3; x < 3; x += step)
      for (double y = -3; y < 3; y += step) {
        const double along = std::max(std::fabs(x) - slot / 2, 0.0);
        if (x * x + y * y < outer * outer / 4 && along * along + y * y > hole * hole / 4) counted += step * step;
      }
    CHECK(bearing_area_mm2(outer, hole, slot) == Approx(counted).epsilon(0.01));
  }
  // Where the slot runs out of the head, only what lies beside it counts: less than all that is left.
  CHECK(bearing_area_mm2(5.5, 3.4, 6) > 0);
  CHECK(bearing_area_mm2(5.5, 3.4, 6) < bearing_area_mm2(5.5, 3.4, 2.1));
}
