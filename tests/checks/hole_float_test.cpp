// Screws in their holes: the fastener formulas, and what is left of them in the written file.
#include "checks/hole_float.h"

#include <catch2/catch.hpp>

#include "checks/bench.h"
#include "checks/line_up.h"
#include "joints/float.h"

using namespace bedwright;

namespace {

const HoleFloat& at_joint(const Report& report, const std::string& joint) {
  for (const HoleFloat& f : report.floats)
    if (f.joint == joint) return f;
  throw std::runtime_error("no float for " + joint);
}

}  // namespace

TEST_CASE("hole float: M3 in 3.4 has 0.4 floating and 0.2 fixed", "[checks][float]") {
  // Worked example of the geometrical tolerancing texts: T = H - F, and half of it where one part holds the screw.
  CHECK(floating_zone_mm(3.4, 3) == Approx(0.4));
  CHECK(fixed_zone_mm(3.4, 3) == Approx(0.2));
  const Report report = Bench().report();
  const HoleFloat& carriage = at_joint(report, "adapter-a-carriage-hole-1");
  CHECK(carriage.fixed);
  CHECK(carriage.zone_mm == Approx(0.2).margin(0.011));  // measured: facets within a chord
  CHECK(carriage.extra_mm == Approx(1.0).margin(0.02));
  CHECK(carriage.used_mm == Approx(0).margin(0.006));
  CHECK(carriage.left_mm == Approx(0.2).margin(0.011));
  const HoleFloat& frame = at_joint(report, "adapter-a-frame-hole-front-left");
  CHECK(frame.zone_mm == Approx(0.25));  // M4 in the sheet's 4.5
  CHECK(with_code(report, "holes-tight").empty());
  CHECK(with_code(report, "holes-miss").empty());
}

TEST_CASE("hole float: what compensation adds is no play", "[checks][float]") {
  const Report report = Bench(std::vector<Change>{{"/printer/compensation/hole_mm", 0.2}}).report();
  const HoleFloat& f = at_joint(report, "adapter-a-carriage-hole-1");
  CHECK(f.hole_mm == Approx(3.4).margin(0.02));
  CHECK(f.left_mm == Approx(0.2).margin(0.011));
}

TEST_CASE("hole float: fine holes without slots are tight where patterns may be off by more", "[checks][float]") {
  // ISO 273 fine for M3: 3.2, so 0.1 of play.
  const std::vector<Change> fine = {{"/parts/0/carriage_hole", "fine"}, {"/parts/0/slot_mm", 0}};
  std::vector<Change> off = fine;
  off.push_back({"/joint_rules", {{"pattern_plus_minus_mm", 0.15}}});
  const auto found = findings_of(off, "holes-tight");
  REQUIRE(found.size() == 8);
  CHECK(found[0].severity == Severity::warning);
  CHECK(found[0].value == Approx(0.1).margin(0.011));
  CHECK(findings_of(fine, "holes-tight").empty());
}

TEST_CASE("hole float: a hole of the file out of its place", "[checks][float]") {
  Bench bench;
  MadePart& part = bench.part("adapter-a");
  const auto moved = [&](double by) {
    part = Bench().part("adapter-a");
    for (MeasuredDimension& d : part.comparison.dimensions)
      if (d.feature == "carriage-hole-1" && d.quantity == "y") d.measured_mm = *d.measured_mm + by;
    return bench.report();
  };
  // Four holes with 0.2 of play: the plate shifts by half and turns a little, so 0.3 still passes.
  Report report = moved(0.3);
  CHECK(with_code(report, "holes-miss").empty());
  CHECK_FALSE(with_code(report, "holes-tight").empty());
  report = moved(1.5);
  const auto found = with_code(report, "holes-miss");
  REQUIRE_FALSE(found.empty());
  CHECK(found[0].severity == Severity::error);
}

TEST_CASE("best place: two holes too far apart share the error", "[checks][float]") {
  // Screws 20.4 apart, holes 20 apart, 0.3 of play each: centred, 0.2 is used on either side.
  const std::vector<Fit> fits = {{{-10, 0}, {-10.2, 0}, 0.3, 0, {1, 0}}, {{10, 0}, {10.2, 0}, 0.3, 0, {1, 0}}};
  const BestPlace place = best_place(fits);
  CHECK(place.off_mm == Approx(-0.1).margin(2e-3));
  // Shifted by 0.5 as a whole: nothing is lost.
  const std::vector<Fit> shifted = {{{-10, 0}, {-9.5, 0}, 0.3, 0, {1, 0}}, {{10, 0}, {10.5, 0}, 0.3, 0, {1, 0}}};
  CHECK(best_place(shifted).off_mm == Approx(-0.3).margin(2e-3));
  CHECK(best_place(shifted).shift.x == Approx(0.5).margin(2e-3));
  CHECK(lines_up_square(shifted));
  CHECK(lines_up_square(fits));
  const std::vector<Fit> far = {{{-10, 0}, {-10.31, 0}, 0.3, 0, {1, 0}}, {{10, 0}, {10.31, 0}, 0.3, 0, {1, 0}}};
  CHECK_FALSE(lines_up_square(far));
}
