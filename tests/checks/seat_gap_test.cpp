// The seat gap of written files: nothing on a good one, the mistake's own size on a bad one.
#include "checks/seat_gap.h"

#include <catch2/catch.hpp>

#include "checks/bench.h"

using namespace bedwright;

namespace {

/// Moves every vertex of the part's file that `pick` takes, part frame, by (0, 0, by).
template <typename Pick>
void raise(MadePart& part, double by, Pick pick) {
  const Transform& to_part = part.report.pose.print_to_part;
  for (Vec3& v : part.measured.mesh.vertices) {
    Vec3 at = apply(to_part, v);
    if (!pick(at)) continue;
    at.z += by;
    v = apply(inverse(to_part), at);
  }
}

}  // namespace

TEST_CASE("seat gap: modelled frames of every shape are met within 0.02 mm", "[checks][seat-gap]") {
  const std::vector<std::vector<Change>> kits = {
      {},
      {{"/frame/dome/crown", "down"}},
      {{"/frame/dome/apex_mm", {7, -12}}},
      {{"/frame/dome", {{"shape", "cylinder"}, {"radius_mm", 1800}, {"axis", "x"}, {"crown", "up"}}}},
      {{"/frame/dome", {{"shape", "two_radius"}, {"radius_x_mm", 2000}, {"radius_y_mm", 5200}, {"crown", "up"}}}},
      {{"/frame/dome", {{"shape", "flat"}}}},
      {{"/parts/0/boss_side", "up"}, {"/parts/0/thickness_mm", 10}, {"/parts/0/insert", "m4-short"}},
  };
  for (const auto& changes : kits) {
    const Bench bench(changes);
    const Report report = bench.report();
    CAPTURE(changes.empty() ? std::string("demo") : changes.front().second.dump());
    REQUIRE(report.seat_gaps.size() == 4);
    for (const SeatGap& g : report.seat_gaps) {
      CHECK(g.bears_mm2 > 50);
      CHECK(g.least_mm > -0.02);
      CHECK(g.greatest_mm < 0.02);
      CHECK(g.greatest_mm >= g.least_mm);
    }
    CHECK(with_code(report, "seat-gap").empty());
  }
}

TEST_CASE("seat gap: a seat that is too low is told with its place", "[checks][seat-gap]") {
  Bench bench;
  MadePart& part = bench.part("adapter-a");
  // Outward of x = -20 in the part frame: the seat there 0.05 lower.
  raise(part, -0.05, [](Vec3 at) { return at.x < -20 && at.z > 2; });
  const Report report = bench.report();
  const auto found = with_code(report, "seat-gap");
  REQUIRE(found.size() == 2);  // at both of its placements
  CHECK(found[0].severity == Severity::warning);
  CHECK(found[0].value == Approx(0.05).margin(0.011));  // a chord besides
  CHECK_THAT(found[0].message, Catch::Contains("of air under the frame"));
  for (const SeatGap& g : report.seat_gaps)
    if (g.placement == "front-left") CHECK(g.greatest_at.x < -75 - 19);
  Bench within_chord;
  raise(within_chord.part("adapter-a"), -0.008, [](Vec3 at) { return at.z > 2; });
  CHECK(with_code(within_chord.report(), "seat-gap").empty());
}

TEST_CASE("seat gap: a seat that stands into the sheet, and one far off", "[checks][seat-gap]") {
  Bench bench;
  raise(bench.part("adapter-b"), 0.3, [](Vec3 at) { return at.z > 2; });
  const auto found = with_code(bench.report(), "seat-gap");
  REQUIRE(found.size() == 2);
  CHECK(found[0].severity == Severity::error);
  CHECK(found[0].value == Approx(0.3).margin(0.011));
  CHECK_THAT(found[0].message, Catch::Contains("into the frame"));
}

TEST_CASE("seat gap: a file without a seat there", "[checks][seat-gap]") {
  Bench bench;
  auto& mesh = bench.part("adapter-a").measured.mesh;
  mesh.triangles.resize(1);
  const auto found = with_code(bench.report(), "seat-gap");
  REQUIRE(found.size() == 2);
  CHECK(found[0].severity == Severity::error);
  CHECK_THAT(found[0].message, Catch::Contains("nothing of the file"));
}
