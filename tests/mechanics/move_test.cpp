// Rails as beams, rocking over the bed, what moves.
#include <catch2/catch.hpp>
#include <cmath>

#include "checks/bench.h"
#include "mechanics/machine_answers.h"

using namespace bedwright;

namespace {

/// A rail held by screws at both ends of a gap, nothing else.
RailLine bare_line(const Kit& kit, const std::vector<double>& screws, const std::vector<RailGap>& gaps) {
  RailLine line;
  line.side = "left";
  line.base_known = true;
  int n = 0;
  for (double y : screws) line.screws.push_back({++n, y, true, ""});
  line.gaps = gaps;
  line.pads = kit.rails.pads;
  return line;
}

}  // namespace

// Handbook beams (Roark ch. 8, Timoshenko): simply supported, load in the middle F L^3 / (48 E I); cantilever beyond a
// support, both from the same model that the layout uses.
TEST_CASE("a rail over a gap sags as the handbook's beam", "[move]") {
  const Bench bench;
  const Kit& kit = bench.kit;
  const double bend = 205000 * 0.7 * 12 * 7.75 * 7.75 * 7.75 / 12;
  RailLine line = bare_line(kit, {-100, 100}, {});
  BeamModel model = rail_beam(kit, line, 10, 0, 0);
  CHECK(model.bend_nmm2 == Approx(bend).epsilon(0.02));
  // Two loads of 10 N in one place.
  const BeamSag sag = sag_of(model);
  CHECK(deflection_at(sag, 185) == Approx(20 * std::pow(200, 3) / (48 * model.bend_nmm2)).epsilon(1e-4));
  // Overhang a beyond a span L: F a^2 (L + a) / (3 E I) at its end.
  model = rail_beam(kit, line, 10, 185, 185);
  CHECK(deflection_at(sag_of(model), 370) == Approx(20 * 85.0 * 85 * (200 + 85) / (3 * model.bend_nmm2)).epsilon(1e-4));
}

TEST_CASE("pads are springs under the rail", "[move]") {
  const Kit kit = read_kit(bench_json({{"/rails/pads",
                                        {{{"from_mm", -101}, {"to_mm", -99}, {"stiffness_n_per_mm", 50}},
                                         {{"from_mm", 99}, {"to_mm", 101}, {"stiffness_n_per_mm", 50}}}}})
                               .dump(),
                           "bench", ".");
  RailLine line = bare_line(kit, {-100, 100}, {});
  const BeamModel model = rail_beam(kit, line, 10, 0, 0);
  REQUIRE(model.supports.size() == 2);
  CHECK(model.supports[0].stiffness_n_mm == 50);
  // Both springs give F / 2 k more.
  CHECK(deflection_at(sag_of(model), 185) ==
        Approx(20 * std::pow(200, 3) / (48 * model.bend_nmm2) + 20.0 / (2 * 50)).epsilon(1e-4));
}

TEST_CASE("a wide opening passes the makers' limit, and a middle support helps", "[move]") {
  const Kit kit = read_kit(
      bench_json(
          {{"/base/openings/0/min_mm", {-90, -120}}, {"/base/openings/0/max_mm", {90, 120}}, {"/bed/mass_g", 6000}})
          .dump(),
      "bench", ".");
  const Layout layout = settle(kit);
  const auto lines = rail_lines(kit, layout, 0);
  const RailBending b = rail_bending(kit, layout, lines[0], 8000);
  CHECK(b.sag_mm > 0);
  CHECK(b.first_hz > 0);
  CHECK(b.used_percent() > 100);
  REQUIRE(b.middle_support_mm);
  CHECK(*b.middle_support_mm == Approx(0).margin(1e-9));
  CHECK(b.with_support_mm < b.difference_mm / 4);
  // A screw less next to the gap costs something.
  REQUIRE_FALSE(b.lost.empty());
  for (const ScrewCost& c : b.lost) CHECK(c.sag_mm >= b.sag_mm * 0.999);
  // Backed all along there is no beam.
  const Kit backed = read_kit(bench_json({{"/base/outline_mm", {{-150, -190}, {150, -190}, {150, 190}, {-150, 190}}},
                                          {"/base/openings", Json::array()}})
                                  .dump(),
                              "bench", ".");
  const auto flat = rail_lines(backed, settle(backed), 0);
  CHECK(flat[0].gaps.empty());
  CHECK(rail_bending(backed, settle(backed), flat[0], 8000).first_hz == 0);
}

// Mechanics, closed form: play / base x arm.
TEST_CASE("rocking at the bed's points, before and after", "[move]") {
  const Bench bench;
  const RockingMap map = rocking_map(bench.kit);
  for (const RockingPoint& p : map.points) {
    CAPTURE(p.id);
    CHECK(p.after.lift_um == Approx(5 * std::fabs(p.at.y) / 90 + 5 * std::fabs(p.at.x) / 150));
    CHECK(p.after.along_um == Approx(5 * 100.0 / 90));
    REQUIRE(p.before);
    CHECK(p.before->lift_um == Approx(80 * std::fabs(p.at.y) / 45 + 80 * std::fabs(p.at.x) / 150));
  }
  // The layout's own figure: the front edge by pitching alone.
  CHECK(map.points[1].before->lift_um == Approx(*bench.layout.rocking.before_um));
  // Two blocks a rod rock on the distance between them.
  const Kit two = read_kit(bench_json({{"/before/blocks_mm", {{-70, -60}, {-70, 60}, {70, 0}}}}).dump(), "bench", ".");
  std::string how;
  CHECK(old_base_mm(two, how).y == 120);
  CHECK(old_base_mm(two, how).x == 140);
}

// f = v / wavelength: 80 mm/s over 2 mm is 40 Hz.
TEST_CASE("the proof piece is read: away is play, everywhere is not, ripples ring", "[move]") {
  Kit kit = Bench().kit;
  const RockingMap map = rocking_map(kit);
  kit.drive->proof = "away";
  CHECK(diagnose(kit, map, 1650, 1700).verdict == "play");
  kit.drive->proof = "everywhere";
  CHECK(diagnose(kit, map, 1650, 1700).verdict == "not-play");
  kit.drive->proof = "ripples";
  const Diagnosis d = diagnose(kit, map, 1000, 1200);
  CHECK(d.verdict == "ringing");
  CHECK(*d.ripple_hz == 40);
  // 10000 N, 0.2 and 0.6 m, 1 kg: 41.0936296 Hz.
  kit.drive->belt_spans_mm = {200, 600};
  CHECK(*diagnose(kit, map, 1000, 1200).belt_hz_before == Approx(41.0936296));
  CHECK_THAT(diagnose(kit, map, 1000, 1200).words.back(), Catch::Contains("the bed on its belt"));
  kit.drive->ripple_mm = 0.5;
  CHECK_THAT(diagnose(kit, map, 1000, 1200).words.back(), Catch::Contains("something else"));
  kit.drive->proof.clear();
  CHECK(diagnose(kit, map, 0, 0).verdict == "unknown");
  CHECK_FALSE(diagnose(kit, map, 0, 0).not_cured.empty());
}

TEST_CASE("a printed part weighs its walls and its infill's share", "[move]") {
  PrinterProfile printer;
  printer.line_mm = 0.5;
  printer.walls = 2;
  // Cube of 20: 8000 mm3, 2400 mm2; skin 2400 mm3 at 1 mm. PLA 1.24.
  CHECK(printed_mass_g(8000, 2400, "pla", printer) == Approx(9.92));
  printer.infill_percent = 20;
  CHECK(printed_mass_g(8000, 2400, "pla", printer) == Approx(1.24e-3 * (2400 + 0.2 * 5600)));
  // A thin part is all wall.
  CHECK(printed_mass_g(100, 400, "pla", printer) == Approx(0.124));
}

TEST_CASE("moving mass is what rides: parts, bed, frame and carriages", "[move]") {
  const Bench bench;
  const MovingMass m =
      moving_mass(bench.kit, {{"a", "adapter_plate", "pla", 4, 1000, 800}, {"g", "bridge_bar", "pla", 1, 9000, 900}});
  CHECK(m.after_g == Approx(780 + 610 + 4 * bench.kit.carriages.size.mass_g + 4 * 1.24));
  CHECK(*m.before_g == 1650);
  CHECK(m.complete);
  // A printed support plate takes the frame's place.
  CHECK(moving_mass(bench.kit, {{"s", "support_plate", "pla", 1, 1000, 800}}).after_g ==
        Approx(780 + 4 * bench.kit.carriages.size.mass_g + 1.24));
}

TEST_CASE("every figure says its formula, its source and its range", "[move]") {
  const Report report = Bench().report();
  REQUIRE(report.machine.figures.size() > 8);
  for (const Figure& f : report.machine.figures) {
    CAPTURE(f.id);
    CHECK_FALSE(f.formula.empty());
    CHECK_FALSE(f.source.empty());
    CHECK_FALSE(f.range.empty());
    CHECK(std::isfinite(f.value));
  }
  const auto ratio = std::find_if(report.machine.figures.begin(), report.machine.figures.end(),
                                  [](const Figure& f) { return f.id == "ringing-ratio"; });
  REQUIRE(ratio != report.machine.figures.end());
  CHECK(ratio->value == Approx(std::sqrt(1650 / report.machine.mass.after_g)));
}

TEST_CASE("steps say what to feel and that the machine is off until it is plugged in", "[move]") {
  const Report report = Bench(std::vector<Change>{{"/rails/reference", "left"}}).report();
  bool on = false, felt = false;
  for (const Step& s : report.steps) {
    if (s.what.find("Plug it in") != std::string::npos) {
      on = true;
      CHECK(s.machine == "on, watched");
      CHECK_THAT(s.what, Catch::Contains("raise the Z limit"));
    } else if (!on && s.what.find("carriages") != std::string::npos) {
      CHECK(s.machine == "off, unplugged, cold");
    }
    felt = felt || !s.feel.empty();
    if (s.what.rfind("Screw the left rail, the reference,", 0) == 0) CHECK_FALSE(s.feel.empty());
  }
  CHECK(on);
  CHECK(felt);
  CHECK(report.service.size() >= 8);
}
