// The fit envelope: each limit against a formula of its own or a brute-force referee, and kits just inside and outside.
#include "checks/envelope.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "checks/bench.h"
#include "checks/line_up.h"
#include "layout/plate_outline.h"
#include "parts/part_joints.h"

using namespace bedwright;

namespace {

const EnvelopeRow& row(const Report& report, const std::string& id) {
  for (const EnvelopeRow& r : report.envelope)
    if (r.id == id) return r;
  throw std::runtime_error("no row " + id);
}

/// Largest gap when parts made for `ours` carry the frame of `theirs`: straight from the two layouts' surfaces, over
/// the plates' outlines, the sheet lowered level to first contact. Plates move with their holes.
double referee_gap(const Layout& ours, const Layout& theirs) {
  std::vector<double> air;
  for (std::size_t k = 0; k < ours.plates.size(); ++k) {
    const Loop& outline = ours.plates[k].outline;
    const Placement *at = nullptr, *there = nullptr;
    for (std::size_t i = 0; i < 4; ++i)
      if (ours.placements[i].id == ours.plates[k].placement) at = &ours.placements[i], there = &theirs.placements[i];
    const Vec2 by = there->holes.front().at_mm - at->holes.front().at_mm;
    const PlaneBox box = bounding_box(outline);
    for (double y = box.low.y; y <= box.high.y; y += 0.5)
      for (double x = box.low.x; x <= box.high.x; x += 0.5)
        if (contains(outline, {x, y}))
          air.push_back(height_at(theirs.underside, at->at + by + Vec2{x, y}) -
                        height_at(ours.underside, at->at + Vec2{x, y}));
  }
  const auto [least, most] = std::minmax_element(air.begin(), air.end());
  return *most - *least;
}

}  // namespace

TEST_CASE("envelope: hole pitch across the rails is what slots and holes leave", "[checks][envelope]") {
  const Bench bench;
  const Report report = bench.report();
  const EnvelopeRow& r = row(report, "hole-pitch-x");
  // Each side: half the slot's 1.0, (3.4 - 3) / 2 at the carriage, (4.5 - 4) / 2 in the sheet.
  const double play = 0.5 + 0.2 + 0.25;
  CHECK(r.value == Approx(196));
  REQUIRE(r.yes.least);
  REQUIRE(r.yes.greatest);
  CHECK(*r.yes.least == Approx(196 - 2 * play).margin(1e-3));
  CHECK(*r.yes.greatest == Approx(196 + 2 * play).margin(1e-3));
  CHECK_THAT(r.high_why, Catch::Contains("holes miss"));
  // The same by laying the plate's own holes under the other machine's.
  for (const auto& [pitch, passes] : {std::pair<double, bool>{*r.yes.greatest - 0.01, true},
                                      {*r.yes.greatest + 0.01, false},
                                      {*r.yes.least + 0.01, true},
                                      {*r.yes.least - 0.01, false}}) {
    const Bench other(std::vector<Change>{{"/frame/hole_pattern/pitch_mm", {pitch, 150}}});
    const Vec2 ours = frame_holes(bench.layout.placements[0])[0], theirs = frame_holes(other.layout.placements[0])[0];
    std::vector<Fit> fits = {{ours, theirs, 0.25, 0, {1, 0}}};
    for (Vec2 screw : carriage_holes(bench.kit.carriages.size)) fits.push_back({screw, screw, 0.2, 1.0, {1, 0}});
    CHECK(lines_up_square(fits) == passes);
    CHECK(referee_gap(bench.layout, other.layout) < 0.05);
  }
}

TEST_CASE("envelope: along the rails the carriages follow, until the dome does not", "[checks][envelope]") {
  const Bench bench;
  const Report report = bench.report();
  const EnvelopeRow& r = row(report, "hole-pitch-y");
  REQUIRE(r.yes.greatest);
  const auto gap_at = [&](double pitch) {
    return referee_gap(bench.layout,
                       Bench(std::vector<Change>{{"/frame/hole_pattern/pitch_mm", {196, pitch}}}).layout);
  };
  CHECK(gap_at(*r.yes.greatest) == Approx(0.05).margin(1e-3));
  CHECK(gap_at(*r.yes.least) == Approx(0.05).margin(1e-3));
  REQUIRE(r.with.greatest);
  CHECK(*r.with.greatest > *r.yes.greatest);
  CHECK_THAT(r.high_with, Catch::Contains("shim"));
}

TEST_CASE("envelope: dome radius by the gap over the plates", "[checks][envelope]") {
  const Bench bench;
  const Report report = bench.report();
  const EnvelopeRow& r = row(report, "dome-radius");
  const auto gap_at = [&](double radius) {
    Kit kit = bench.kit;
    kit.frame.dome.radius_mm = radius;
    return referee_gap(bench.layout, settle(kit));
  };
  REQUIRE(r.yes.least);
  REQUIRE(r.yes.greatest);
  CHECK(*r.yes.least < 2600);
  CHECK(*r.yes.greatest > 2600);
  // Limits lie at 0.05 and 0.2 mm; the referee's grid sees the edge within half a millimetre of it.
  CHECK(gap_at(*r.yes.least) == Approx(0.05).margin(1e-3));
  CHECK(gap_at(*r.yes.greatest) == Approx(0.05).margin(1e-3));
  CHECK(gap_at(*r.with.least) == Approx(0.2).margin(3e-3));
  CHECK(gap_at(*r.with.greatest) == Approx(0.2).margin(3e-3));
}

TEST_CASE("envelope: sheet thickness is the frame screws' window", "[checks][envelope]") {
  const Bench bench;
  const Report report = bench.report();
  const EnvelopeRow& r = row(report, "sheet-thickness");
  // L - G: at least 5 pitches of M4 (3.5 mm), at most thread, free way and 0.3 mm of tip clearance, in the worst case.
  double least = -1e9, most = 1e9;
  for (const JointSolution& s : report.joints) {
    if (s.joint.part.empty() || s.joint.anchor.kind != "insert") continue;
    const JointLayer &sheet = s.joint.layers[0], &plate = s.joint.layers[1];
    most = std::min(most, *s.pick_mm - 3.5 - plate.mm - plate.plus_minus_mm - sheet.plus_minus_mm);
    const double settled = plate.mm * (1 - s.joint.rules.settling_share) - plate.plus_minus_mm - sheet.plus_minus_mm;
    least = std::max(least, *s.pick_mm - s.joint.anchor.depth_mm - *s.joint.behind.clear_mm + 0.3 - settled);
  }
  REQUIRE(r.yes.greatest);
  CHECK(*r.yes.greatest == Approx(most).margin(1e-3));
  if (least > 0.5) CHECK(*r.yes.least == Approx(least).margin(1e-3));
  CHECK_FALSE(r.with.greatest);  // some longer screw always does
  CHECK_THAT(r.high_with, Catch::Contains("screws in place of M4x"));
}

TEST_CASE("envelope: carriages of another height", "[checks][envelope]") {
  const Bench bench;
  const Report report = bench.report();
  const EnvelopeRow& all = row(report, "carriage-height");
  CHECK(all.value == 13);
  CHECK_FALSE(all.yes.greatest);  // the bed rises with them; nothing of the set minds
  double least = -1e9;
  for (const JointSolution& s : report.joints)
    if (!s.joint.part.empty() && s.joint.anchor.kind == "insert")
      least = std::max(least, *s.pick_mm - s.grip_least_mm - s.joint.anchor.depth_mm + 0.3 -
                                  (*s.joint.behind.clear_mm - 13));
  REQUIRE(all.yes.least);
  CHECK(*all.yes.least == Approx(least).margin(1e-3));
  const EnvelopeRow& step = row(report, "carriage-step");
  CHECK(*step.yes.greatest == Approx(0.05).margin(1e-4));
  CHECK(*step.yes.least == Approx(-0.05).margin(1e-4));
  REQUIRE(step.with.greatest);
  CHECK(*step.with.greatest > 0.05);
  CHECK_THAT(step.high_with, Catch::Contains("shim"));
  CHECK_THAT(step.high_why, Catch::Contains("over the shim"));
}

TEST_CASE("envelope: no plates, no table, and no radius for a flat frame", "[checks][envelope]") {
  Bench bench;
  bench.parts.erase(std::remove_if(bench.parts.begin(), bench.parts.end(),
                                   [](const MadePart& p) { return p.report.part.family == "adapter_plate"; }),
                    bench.parts.end());
  CHECK(bench.report().envelope.empty());
  const Report flat = Bench(std::vector<Change>{{"/frame/dome", {{"shape", "flat"}}}}).report();
  CHECK(flat.envelope.size() == 5);
  const EnvelopeRow& y = row(flat, "hole-pitch-y");
  // Nothing but the carriages' meeting: 90 - 34.8 apart at most less.
  CHECK_FALSE(y.yes.least);
}

TEST_CASE("envelope: every limit is one: judged yes inside, worse outside", "[checks][envelope]") {
  for (const char* crown : {"up", "down"}) {
    const Bench bench(std::vector<Change>{{"/frame/dome/crown", crown}});
    const Report report = bench.report();
    std::vector<Part> parts;
    for (const MadePart& p : bench.parts) parts.push_back(p.report.part);
    const Envelope envelope(bench.kit, bench.layout, parts, report.joints);
    CHECK(envelope.judge({}).fits == FitsAs::yes);
    const double x = *row(report, "hole-pitch-x").yes.greatest - 196;
    OtherMachine m;
    m.pitch_x_mm = x - 0.001;
    CHECK(envelope.judge(m).fits == FitsAs::yes);
    m.pitch_x_mm = x + 0.001;
    CHECK(envelope.judge(m).fits == FitsAs::no);
    m = {};
    const EnvelopeRow& dome = row(report, "dome-radius");
    m.curvature_share = 2600 / (*dome.yes.least + 0.2);
    CHECK(envelope.judge(m).fits == FitsAs::yes);
    m.curvature_share = 2600 / (*dome.yes.least - 0.2);
    CHECK(envelope.judge(m).fits == FitsAs::with);
    m.curvature_share = 2600 / (*dome.with.least - 1);
    CHECK(envelope.judge(m).fits == FitsAs::no);
  }
}
