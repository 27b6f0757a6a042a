#include "mechanics/motion.h"

#include <catch2/catch.hpp>
#include <cmath>

using namespace bedwright;

TEST_CASE("motion: play over a base lifts a point by c a / S", "[motion]") {
  // Mechanics, closed form: 0.010 over 100 mm, lever 120: 0.012 mm.
  CHECK(lift_um(10, 100, 120) == Approx(12));
  CHECK(lift_um(10, 100, -120) == Approx(12));
  // Exact geometry: a bar of length S whose ends may rise and fall by c / 2 turns by asin(c / S).
  const double turned = std::asin(0.010 / 100);
  CHECK(lift_um(10, 100, 120) == Approx(120 * std::sin(turned) * 1000).epsilon(1e-6));
  const RockingAt middle = rocking_at(10, 100, 150, {0, 0}, 60);
  CHECK(middle.lift_um == 0);
  CHECK(middle.along_um == Approx(6));
  CHECK(middle.sideways_um == Approx(4));
  CHECK(rocking_at(10, 100, 150, {75, 50}, 0).lift_um == Approx(10));
}

TEST_CASE("motion: wider carriages rock less in proportion, a sweep", "[motion]") {
  for (double spacing = 40; spacing <= 240; spacing += 10)
    CHECK(lift_um(5, spacing, 120) == Approx(lift_um(5, 40, 120) * 40 / spacing));
}

// From a public calculator page and arithmetic: 1.2 kg to 1.0 kg raises the frequency by 9.5 per cent.
TEST_CASE("motion: ringing by the masses' square root, and from ripples", "[motion]") {
  CHECK(ringing_ratio(1200, 1000) == Approx(1.095).epsilon(5e-4));
  CHECK(ripple_hz(80, 2) == 40);
}

// Mechanics, closed form: EA 10000 N, spans 0.2 and 0.6 m, 1 kg: 41.0936296 Hz; one span: 50 N/mm, 35.58812717 Hz.
TEST_CASE("motion: a mass on a belt", "[motion]") {
  CHECK(belt_stiffness_n_mm(10000, 200, 1e30) == Approx(50));
  CHECK(spring_hz(50, 1000) == Approx(35.58812717));
  CHECK(spring_hz(belt_stiffness_n_mm(10000, 200, 600), 1000) == Approx(41.0936296));
  CHECK(spring_hz(16, 1000) == Approx(20.13168484));
}

// Handbook expansions; 200 mm, 40 K, steel 12e-6 against aluminium 23.6e-6: 0.0928 mm.
TEST_CASE("motion: growth and bimetal", "[motion]") {
  CHECK(growth_mm(23.6e-6 - 12e-6, 200, 40) == Approx(0.0928));
  CHECK(growth_mm(24e-6, 300, 75) == Approx(0.54));
  // Curvature 1.5 x 11.6e-6 x 40 / 8 = 8.7e-5 per mm: over 300 mm 0.979 mm.
  CHECK(bimetal_sag_mm(11.6e-6, 40, 8, 300) == Approx(0.97875));
}
