// The checks of the written file: each is fed the mistake by damaging the measurement of a good file.
#include <catch2/catch.hpp>

#include "checks/bench.h"
#include "output/gauge_report.h"

using namespace bedwright;

TEST_CASE("checks: the demo kit has no finding at error level", "[checks]") {
  for (const Finding& f : Bench().report().findings) {
    CAPTURE(f.code, f.message);
    CHECK(f.severity != Severity::error);
  }
}

TEST_CASE("checks: a file with a facet missing is mesh-invalid", "[checks]") {
  Bench bench;
  CHECK(with_code(bench.report(), "mesh-invalid").empty());
  MadePart& part = bench.part("adapter-a");
  Mesh broken = part.measured.mesh;
  broken.triangles.pop_back();
  part.measured.health = inspect(broken);
  const auto found = with_code(bench.report(), "mesh-invalid");
  REQUIRE(found.size() == 1);
  CHECK(found[0].severity == Severity::error);
  CHECK(found[0].part == "adapter-a");
  CHECK_THAT(found[0].message, Catch::Contains("3 open edges"));
}

TEST_CASE("checks: a file whose facets could not all be held against each other is mesh-invalid", "[checks]") {
  Bench bench;
  Measurement& measured = bench.part("adapter-a").measured;
  CHECK_THAT(gauge_text("a.stl", measured, nullptr, nullptr), !Catch::Contains("given up"));
  CHECK(gauge_document("a.stl", measured, nullptr, nullptr).at("mesh").count("search_given_up") == 0);
  measured.health.all_asked = false;
  CHECK_THAT(gauge_text("a.stl", measured, nullptr, nullptr), Catch::Contains("given up"));
  CHECK(gauge_document("a.stl", measured, nullptr, nullptr).at("mesh").at("search_given_up") == true);
  const auto found = with_code(bench.report(), "mesh-invalid");
  REQUIRE(found.size() == 1);
  CHECK_THAT(found[0].message, Catch::Contains("try them all"));
}

TEST_CASE("checks: a file that is inside out is mesh-invalid", "[checks]") {
  Bench bench;
  MadePart& part = bench.part("riser");
  Mesh turned = part.measured.mesh;
  for (auto& t : turned.triangles) std::swap(t[1], t[2]);
  part.measured.health = inspect(turned);
  CHECK(with_code(bench.report(), "mesh-invalid").size() == 1);
}

TEST_CASE("checks: a flat triangle is mesh-sliver", "[checks]") {
  Bench bench;
  CHECK(with_code(bench.report(), "mesh-sliver").empty());
  bench.part("riser").measured.health.least_height_mm = 0.0099;
  CHECK(with_code(bench.report(), "mesh-sliver").size() == 1);
  bench.part("riser").measured.health.least_height_mm = 0.0101;
  CHECK(with_code(bench.report(), "mesh-sliver").empty());
}

TEST_CASE("checks: another part's file is not-as-drawn", "[checks]") {
  Bench bench;
  CHECK(with_code(bench.report(), "not-as-drawn").empty());
  bench.part("adapter-a").measured = bench.part("adapter-b").measured;
  compare_made(bench.parts, bench.index("adapter-a"));
  const auto found = with_code(bench.report(), "not-as-drawn");
  REQUIRE_FALSE(found.empty());
  CHECK(found[0].part == "adapter-a");
}

TEST_CASE("checks: a hole that is too narrow in the file is dimension-off", "[checks]") {
  Bench bench;
  CHECK(with_code(bench.report(), "dimension-off").empty());
  MadePart& part = bench.part("riser");
  // Every vertex within 3 mm of the axis is on the hole (4.5 mm): 0.05 mm nearer to it.
  for (Vec3& v : part.measured.mesh.vertices) {
    const double r = length(Vec2{v.x, v.y});
    if (r < 3) v = {v.x * (r - 0.05) / r, v.y * (r - 0.05) / r, v.z};
  }
  part.measured = measure(part.measured.mesh);
  compare_made(bench.parts, bench.index("riser"));
  const auto found = with_code(bench.report(), "dimension-off");
  REQUIRE(found.size() == 1);
  CHECK(found[0].value == Approx(0.1).margin(0.005));
  CHECK_THAT(found[0].message, Catch::Contains("diameter"));
}

TEST_CASE("checks: a dimension that was not measured is told and not reported", "[checks]") {
  Bench bench;
  MadePart& part = bench.part("riser");
  const std::size_t before = part.comparison.dimensions.size();
  REQUIRE(before > 1);
  part.comparison.dimensions[0].measured_mm.reset();
  part.report.dimensions = part.comparison.dimensions;
  const Report report = bench.report();
  const auto found = with_code(report, "not-measured");
  CHECK(std::count_if(found.begin(), found.end(), [](const Finding& f) { return f.part == "riser"; }) == 1);
  std::size_t reported = 0;
  for (const MeasuredDimension& d : part.comparison.dimensions) reported += d.measured_mm.has_value();
  CHECK(reported == before - 1);
  const Json document = report_document(report);
  for (const Json& p : document.at("parts"))
    if (p["id"] == "riser") CHECK(p["dimensions"].size() == reported);
}

TEST_CASE("checks: a head that stands above the seat of the file", "[checks]") {
  Bench bench;
  CHECK(with_code(bench.report(), "head-proud").empty());
  MadePart& part = bench.part("adapter-a");
  double floor = 0;
  for (const Feature& f : part.report.part.features)
    if (f.kind == FeatureKind::counterbore_slot) floor = f.from.z_mm;
  REQUIRE(floor > 0);
  // The file's seat planed off 0.5 mm below the top of the head: ISO 4762 M3, 3 mm high.
  const Transform& to_part = part.report.pose.print_to_part;
  for (Vec3& v : part.measured.mesh.vertices) {
    Vec3 at = apply(to_part, v);
    at.z = std::min(at.z, floor + 3.0 - 0.5);
    v = apply(inverse(to_part), at);
  }
  const auto found = with_code(bench.report(), "head-proud");
  REQUIRE(found.size() == 4);
  CHECK(found[0].severity == Severity::error);
  CHECK(found[0].value - found[0].limit == Approx(0.5).margin(1e-4));
}
