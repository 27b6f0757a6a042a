// The checks of what a kit asks for: a kit that raises each, and a neighbour that does not.
#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>

#include "checks/bench.h"

using namespace bedwright;

TEST_CASE("checks: a part larger than the printer", "[checks]") {
  const auto found = findings_of({{"/printer/bed_mm", {50, 50, 50}}}, "part-too-big");
  REQUIRE(found.size() == 2);
  CHECK(found[0].severity == Severity::error);
  CHECK(findings_of({{"/printer/bed_mm", {60, 60, 60}}}, "part-too-big").empty());
  for (const Finding& f : found) CHECK_THAT(f.remedy, Catch::Contains("no pose fits") && Catch::Contains("pins and two screws"));
  // Laid by the kit so that it stands too high, 55.7 mm, where it has room lying: 46 x 55.7 on the bed, 12.4 high.
  const auto posed = findings_of({{"/printer/bed_mm", {60, 60, 50}}, {"/parts/0/pose", "on_rear"}}, "part-too-big");
  REQUIRE_FALSE(posed.empty());
  CHECK_THAT(posed[0].remedy, Catch::Contains("set pose to as_installed (46 x 55.7 mm on the bed, 12.4 high), or split it in 2"));
}

TEST_CASE("checks: a shim between two layers names both neighbours", "[checks]") {
  const auto found = findings_of({{"/parts/2/thickness_mm", 0.5}}, "whole-layers");
  REQUIRE(found.size() == 1);
  CHECK(found[0].severity == Severity::warning);
  CHECK_THAT(found[0].remedy, Catch::Contains("0.4 (2 layers)") && Catch::Contains("0.6 (3)"));
  CHECK(findings_of({{"/parts/2/thickness_mm", 0.6}}, "whole-layers").empty());
}

TEST_CASE("checks: whole layers count what the height compensation adds", "[checks]") {
  const auto found = findings_of({{"/printer/compensation/height_mm", 0.05}}, "whole-layers");
  REQUIRE(found.size() == 1);
  CHECK_THAT(found[0].remedy, Catch::Contains("0.35 (2 layers)") && Catch::Contains("0.55 (3)"));
}

TEST_CASE("checks: a shim thinner than the first layer cannot be printed", "[checks]") {
  const auto found = findings_of({{"/parts/2/thickness_mm", 0.15}}, "thin-shim");
  REQUIRE(found.size() == 1);
  CHECK(found[0].severity == Severity::error);
  CHECK(findings_of({{"/parts/2/thickness_mm", 0.2}}, "thin-shim").empty());
}

TEST_CASE("checks: overhang tells the area", "[checks]") {
  Bench bench;
  MadePart& part = bench.part("riser");
  const auto of_riser = [&] {
    const auto found = with_code(bench.report(), "overhang");
    return std::count_if(found.begin(), found.end(), [](const Finding& f) { return f.part == "riser"; });
  };
  part.report.pose.overhang_mm2 = 24;
  CHECK(of_riser() == 0);
  part.report.pose.overhang_mm2 = 26;
  CHECK(of_riser() == 1);
}

TEST_CASE("checks: a narrow ring has a thin wall", "[checks]") {
  // (14 - 12) / 2 = 1.0 mm of wall; (14 - 11) / 2 = 1.5 mm.
  const auto found = findings_of({{"/parts/1/hole_mm", 12}}, "thin-wall");
  REQUIRE(found.size() == 1);
  // Facets of hole and ring each take up to a chord.
  CHECK(found[0].value == Approx(1.0).margin(0.021));
  CHECK(findings_of({{"/parts/1/hole_mm", 11}}, "thin-wall").empty());
}

TEST_CASE("checks: two holes near each other have a thin wall between them", "[checks]") {
  // Two holes of 4 mm, 5 and 6 mm apart: 1 and 2 mm between them.
  const auto spacer = [](double apart) {
    return std::vector<Change>{
        {"/parts/1",
         {{"id", "riser"},
          {"family", "spacer"},
          {"thickness_mm", 8},
          {"shape", "rectangular"},
          {"size_mm", {40, 20}},
          {"holes",
           {{{"at_mm", {-apart / 2, 0}}, {"diameter_mm", 4}}, {{"at_mm", {apart / 2, 0}}, {"diameter_mm", 4}}}}}}};
  };
  const auto found = findings_of(spacer(5), "thin-wall");
  REQUIRE(found.size() == 1);
  CHECK(found[0].value == Approx(1.0).margin(0.021));
  CHECK_THAT(found[0].message, Catch::StartsWith("between ") && Catch::Contains(" and "));
  CHECK(findings_of(spacer(6), "thin-wall").empty());
}

TEST_CASE("checks: a material near its softening temperature", "[checks]") {
  const Bench bench(std::vector<Change>{{"/printer/material", "pla"}});
  CHECK(with_code(bench.report(), "softening").size() == bench.parts.size());
  CHECK(findings_of({}, "softening").empty());
}

TEST_CASE("checks: the frame's slope under a screw head", "[checks]") {
  // Slope at a hole: asin(sqrt(98^2 + 75^2) / R). R 2600: 2.7203 degrees; R 4000: 1.77 degrees.
  const auto found = findings_of({{"/frame/dome/radius_mm", 2600}}, "head-slope");
  REQUIRE(found.size() == 2);
  CHECK(found[0].value == Approx(2.7203).margin(0.001));
  // ISO 4762 M4: head 7.22 mm at most; 7.22 sin 2.72 = 0.34.
  CHECK_THAT(found[0].message, Catch::Contains("0.34 mm"));
  CHECK(findings_of({{"/frame/dome/radius_mm", 4000}}, "head-slope").empty());
}

TEST_CASE("checks: a boss thinner than its insert asks for", "[checks]") {
  // (9.6 - 5.6) / 2 = 2.0 against 2.1.
  const auto found = findings_of({{"/parts/0/boss_diameter_mm", 9.6}}, "insert-wall");
  REQUIRE(found.size() == 2);
  CHECK(found[0].value == Approx(2.0));
  CHECK(findings_of({{"/parts/0/boss_diameter_mm", 9.9}}, "insert-wall").empty());
}

TEST_CASE("checks: little material between an insert and the seat", "[checks]") {
  Bench bench;
  CHECK(with_code(bench.report(), "insert-bottom").empty());
  Part& part = bench.part("adapter-a").report.part;
  for (Feature& f : part.features)
    if (f.kind == FeatureKind::insert_pocket) f.to.z_mm = height_at(part.seat, {f.at.x, f.at.y}) - 0.9;
  const auto found = with_code(bench.report(), "insert-bottom");
  REQUIRE(found.size() == 1);
  CHECK(found[0].value == Approx(0.9));
}

TEST_CASE("checks: too little travel", "[checks]") {
  Bench bench;
  bench.layout.travel_available_mm = 214.9;
  bench.layout.travel_needed_mm = 215;
  auto found = with_code(bench.report(), "travel-short");
  REQUIRE(found.size() == 1);
  CHECK(found[0].severity == Severity::warning);
  CHECK_THAT(found[0].remedy, Catch::Contains("0.1 mm longer"));
  bench.layout.travel_available_mm = 215;
  CHECK(with_code(bench.report(), "travel-short").empty());
  bench.layout.travel_available_mm = -1;
  found = with_code(bench.report(), "travel-short");
  REQUIRE(found.size() == 1);
  CHECK(found[0].severity == Severity::error);
}

TEST_CASE("checks: carriages without play turn the guideway note into a warning", "[checks]") {
  const auto play = findings_of({}, "guideway-limits");
  REQUIRE(play.size() == 1);
  CHECK(play[0].severity == Severity::note);
  Bench bench;
  bench.kit.carriages.clearance_um = 0;
  bench.kit.rails.pitch_mm = 176;
  const auto none = with_code(bench.report(), "guideway-limits");
  REQUIRE(none.size() == 1);
  CHECK(none[0].severity == Severity::warning);
  // 0.00025 x 176 = 0.044 mm: a guideway maker's factor for zero preload.
  CHECK_THAT(none[0].message, Catch::Contains("0.044 mm"));
  bench.kit.carriages.clearance_um = -2;
  // 0.00015 x 176 = 0.0264 mm: light preload.
  CHECK_THAT(with_code(bench.report(), "guideway-limits")[0].message, Catch::Contains("0.026 mm"));
}

TEST_CASE("checks: an off-centre apex makes four plates and says why", "[checks]") {
  CHECK(findings_of({}, "distinct-parts").empty());
  const auto apex = findings_of({{"/frame/dome/apex_mm", {6, 9}}}, "distinct-parts");
  REQUIRE(apex.size() == 1);
  CHECK(apex[0].value == 4);
  CHECK_THAT(apex[0].message, Catch::Contains("apex is off centre (6, 9)"));
}

TEST_CASE("checks: a plate without a mark", "[checks]") {
  CHECK(findings_of({{"/parts/0/mark", false}}, "mark-missing").size() == 2);
  Bench bench;
  for (MadePart& p : bench.parts) p.report.part.visible_mark = true;
  CHECK(with_code(bench.report(), "mark-missing").empty());
}

TEST_CASE("checks: plates break the path to earth and loose rings do not", "[checks]") {
  Bench bench;
  CHECK(with_code(bench.report(), "earth-path").size() == 1);
  bench.parts.erase(std::remove_if(bench.parts.begin(), bench.parts.end(),
                                   [](const MadePart& p) { return p.report.part.family == "adapter_plate"; }),
                    bench.parts.end());
  CHECK(with_code(bench.report(), "earth-path").empty());
}

TEST_CASE("checks: findings are sorted by severity", "[checks]") {
  const Report report = Bench(std::vector<Change>{{"/parts/2/thickness_mm", 0.15}}).report();
  CHECK(std::is_sorted(report.findings.begin(), report.findings.end(),
                       [](const Finding& a, const Finding& b) { return a.severity < b.severity; }));
  CHECK(report.findings.front().severity == Severity::error);
}

TEST_CASE("checks: every code that a check can say is listed in the findings page", "[checks]") {
  std::ifstream file(std::string(BEDWRIGHT_ROOT) + "/docs/findings.md");
  std::stringstream text;
  text << file.rdbuf();
  for (const char* code :
       {"mesh-invalid", "mesh-sliver",     "not-as-drawn",   "dimension-off", "not-measured",   "part-too-big",
        "thin-shim",    "whole-layers",    "overhang",       "thin-wall",     "softening",      "no-screw",
        "head-proud",   "head-slope",      "insert-wall",    "insert-bottom", "unknown-behind", "also-holds",
        "travel-short", "guideway-limits", "distinct-parts", "mark-missing",  "earth-path",
        "survey-crown", "saddle-unseen",   "dome-unsure",    "few-points",    "many-outliers",  "not-level",
        "neighbours-alike", "scale-unknown", "scale-one-way", "scan-scale",   "kept-as-points",
        "seat-gap", "holes-miss", "holes-tight", "interference", "rail-screws", "set-hand-missing", "set-part-missing",
        "set-quantity", "set-revision-mixed", "set-code-differs", "set-wrong-file", "set-file-changed",
        "set-stray-file", "set-out-of-date"})
    CHECK_THAT(text.str(), Catch::Contains("`" + std::string(code) + "`"));
}
