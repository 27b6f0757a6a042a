// Bodies in each other over the travel: each kind fed in, closed forms for depth and bed positions, a stepping referee.
#include "checks/interference.h"

#include <catch2/catch.hpp>

#include "checks/bench.h"
#include "solid/meet.h"

using namespace bedwright;

namespace {

Json keep_out(const std::string& id, Vec3 low, Vec3 high) {
  return Json::array({{{"id", id}, {"min_mm", {low.x, low.y, low.z}}, {"max_mm", {high.x, high.y, high.z}}}});
}

Mesh plate_in_machine(const Bench& bench, const std::string& placement) {
  for (const MadePart& p : bench.parts)
    for (std::size_t i = 0; i < p.report.part.placements.size(); ++i)
      for (const Placement& at : bench.layout.placements)
        if (at.id == placement && p.report.part.placements[i] == placement && p.report.part.family == "adapter_plate")
          return transformed(p.measured.mesh,
                             compose(compose(shift({at.at.x, at.at.y, 0}),
                                             quarter_turn(2, p.report.part.quarter_turns.at(i))),
                                     p.report.pose.print_to_part));
  throw std::runtime_error("no plate");
}

const Interference* between(const Report& report, const std::string& first, const std::string& second) {
  for (const Interference& i : report.interferences)
    if (i.first.find(first) != std::string::npos && i.second.find(second) != std::string::npos) return &i;
  return nullptr;
}

}  // namespace

TEST_CASE("interference: none in the demo, with bosses up, or under a hollow", "[checks][interference]") {
  CHECK(Bench().report().interferences.empty());
  CHECK(Bench(std::vector<Change>{{"/frame/dome/crown", "down"}}).report().interferences.empty());
}

TEST_CASE("interference: a keep-out that the bed only reaches at the end of its travel", "[checks][interference]") {
  Bench bench;
  const Box box = bounding_box(plate_in_machine(bench, "front-left"));
  const double half = 215.0 / 2;
  const auto with_edge_at = [&](double y) {
    bench.kit.keep_outs = keep_out("chain", {box.low.x - 5, y - 20, 1}, {box.high.x + 5, y, 4});
    return bench.report();
  };
  // The plate's front edge comes to box.low.y - 107.5; within a chord (0.01 mm) it only touches.
  CHECK(with_edge_at(box.low.y - half + 0.009).interferences.empty());
  const Report report = with_edge_at(box.low.y - half + 0.5);
  const Interference* i = between(report, "adapter-a at front-left", "keep-out chain");
  REQUIRE(i);
  CHECK(i->from_mm == Approx(-half));
  CHECK(i->to_mm == Approx(-half + 0.5).margin(0.011));
  CHECK(i->axis == 'y');
  CHECK(i->depth_mm == Approx(0.5).margin(0.011));
  const auto found = with_code(report, "interference");
  REQUIRE_FALSE(found.empty());
  CHECK(found[0].severity == Severity::error);
  CHECK_THAT(found[0].message, Catch::Contains("keep-out chain") && Catch::Contains("while the bed is from y = -107.5"));
}

TEST_CASE("interference: bed positions are those that stepping finds", "[checks][interference]") {
  Bench bench;
  const Mesh plate = plate_in_machine(bench, "rear-right");
  const Box keep{{92, -30, 2}, {99, -12, 9}};
  bench.kit.keep_outs = keep_out("post", keep.low, keep.high);
  const Report report = bench.report();
  const Interference* i = between(report, "at rear-right", "keep-out post");
  REQUIRE(i);
  double first = 1e9, last = -1e9;
  const double step = 0.25;
  for (double t = -107.5; t <= 107.5; t += step) {
    if (!meets(transformed(plate, shift({0, t, 0})), box_mesh(keep))) continue;
    first = std::min(first, t);
    last = std::max(last, t);
  }
  CHECK(i->from_mm == Approx(first).margin(step + 0.02));
  CHECK(i->to_mm == Approx(last).margin(step + 0.02));
}

TEST_CASE("interference: bosses over the rail reach it when they are too long", "[checks][interference]") {
  // Holes over the rails, behind and before the carriages; a rail's top is 13 - 7.75 = 5.25 mm below the carriages'.
  const auto with_boss = [](double height) {
    // Stops would stand in the bosses' way first; base_interference_test has them.
    return Bench({{"/frame/hole_pattern/pitch_mm", {150, 172}}, {"/rails/stops_mm", {0, 0}}, {"/parts/0/boss_height_mm", height}})
        .report();
  };
  const Report deep = with_boss(6);
  const Interference* i = between(deep, "adapter-a at", "rail");
  REQUIRE(i);
  CHECK(i->axis == 'z');
  CHECK(i->depth_mm == Approx(0.75).margin(0.02));
  CHECK_FALSE(between(with_boss(5), "adapter-a at", "rail"));
}

TEST_CASE("interference: a screw whose hole is elsewhere in the file", "[checks][interference]") {
  Bench bench;
  MadePart& part = bench.part("adapter-a");
  const Transform as_made = part.report.pose.print_to_part;
  // Holes of 3.4 for 3: 0.2 of play across the slots. Moved by 0.6, 0.4 of the shank stands in the plate, on the side
  // where the slots, which print lying, have no point.
  part.report.pose.print_to_part = compose(shift({0, -0.6, 0}), as_made);
  const Report report = bench.report();
  const Interference* i = between(report, "adapter-a at front-left", "the screw of adapter-a-carriage-hole-1");
  REQUIRE(i);
  // The box of what they share also holds the corners where the shank's round leaves the slot's.
  CHECK(i->axis == 'y');
  CHECK(i->depth_mm > 0.38);
  CHECK(i->depth_mm < 0.52);
  part.report.pose.print_to_part = compose(shift({0, 0.1, 0}), as_made);
  CHECK_FALSE(between(bench.report(), "adapter-a at front-left", "the screw of adapter-a-carriage-hole-1"));
}

TEST_CASE("interference: something of a file that comes through the sheet", "[checks][interference]") {
  Bench bench;
  MadePart& part = bench.part("adapter-b");
  const Transform as_made = part.report.pose.print_to_part;
  part.report.pose.print_to_part = compose(shift({0, 0, 0.2}), as_made);
  const Report report = bench.report();
  const Interference* i = between(report, "adapter-b", "frame");
  REQUIRE(i);
  CHECK(i->depth_mm == Approx(0.2).margin(0.011));
}

TEST_CASE("interference: plates, and a carriage in a keep-out", "[checks][interference]") {
  Bench bench;
  // A plate laid down 60 mm too far to the right runs into its neighbour.
  MadePart& part = bench.part("adapter-a");
  const Transform as_made = part.report.pose.print_to_part;
  part.report.pose.print_to_part = compose(shift({120, 0, 0}), as_made);
  CHECK(between(bench.report(), "adapter-a at front-left", "adapter-b at front-right"));
  part.report.pose.print_to_part = as_made;
  // 75 + 27 / 2 = 88.5 is the carriages' outer face.
  bench.kit.keep_outs = keep_out("cover", {88.4, -150, -12}, {95, 150, -8});
  const Interference* i = nullptr;
  const Report in = bench.report();
  i = between(in, "carriage front-right", "keep-out cover");
  REQUIRE(i);
  CHECK(i->axis == 'x');
  CHECK(i->depth_mm == Approx(0.09).margin(1e-6));  // less the contact that is allowed
  bench.kit.keep_outs = keep_out("cover", {88.5, -150, -12}, {95, 150, -8});
  CHECK_FALSE(between(bench.report(), "carriage front-right", "keep-out cover"));
}
