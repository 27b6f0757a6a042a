// The hex key's way to each screw: what covers it, what blocks it, and the order of steps that follows.
#include "checks/driver_access.h"

#include <catch2/catch.hpp>

#include "checks/ways_bench.h"
#include "output/steps.h"
#include "parts/part_joints.h"

using namespace bedwright;

namespace {

std::vector<DriverPath> paths_of(const Made& m) {
  std::vector<const Part*> parts;
  for (const Part& p : m.parts) parts.push_back(&p);
  return driver_paths(m.kit, m.layout, parts);
}

std::vector<Finding> blocked(const Made& m) {
  Known known{m.kit, m.layout, {}, {}, {}};
  for (const Part& part : m.parts) known.parts.push_back({&part, nullptr, nullptr, {}, 0});
  std::vector<Finding> findings;
  check_driver(known, findings);
  return findings;
}

std::vector<Step> steps_of(const Made& m) {
  std::vector<PartReport> parts;
  std::vector<JointSolution> joints;
  for (const Part& part : m.parts) {
    parts.emplace_back();
    parts.back().part = part;
    for (const Joint& joint : joints_of_part(m.kit, part)) joints.push_back(solve_window(joint));
  }
  return assembly_steps(parts, joints, paths_of(m));
}

int step_with(const std::vector<Step>& steps, const std::string& joint) {
  for (const Step& s : steps)
    if (std::find(s.joints.begin(), s.joints.end(), joint) != s.joints.end()) return s.n;
  return 0;
}

int step_saying(const std::vector<Step>& steps, const std::string& words) {
  for (const Step& s : steps)
    if (s.what.find(words) != std::string::npos) return s.n;
  return 0;
}

}  // namespace

TEST_CASE("driver: four carriage screws and one frame screw a plate, each with its key", "[driver]") {
  const Made m = made({});
  const std::vector<DriverPath> paths = paths_of(m);
  REQUIRE(paths.size() == 4 * 5);
  for (const DriverPath& p : paths) {
    CAPTURE(p.joint, p.placement);
    CHECK(p.blocked.empty());
    // ISO 2936, from memory: 2.5 across flats 56 long (M3), 3 across flats 63 (M4).
    CHECK(p.tool_mm == (p.fastens_frame ? 63 : 56));
    CHECK(p.under_bed);
    CHECK(p.under_frame == !p.fastens_frame);
  }
  CHECK(blocked(m).empty());
}

TEST_CASE("driver: a hole of the frame straight above a screw lets the key through", "[driver]") {
  // Carriage screws of mini-12-short stand 10 x 7.5 from the carriage's centre: a bed mount of 4.5 over the first one
  // leaves 2.25 - 1.44 = 0.81 round the key's corners (2.5 / sqrt 3 = 1.44).
  const auto covered = [](double off) {
    const std::string x = std::to_string(-75 - 10 + off);
    const Made m = made({{"/frame/bed_mounts", R"({"kind": "listed", "holes": [{"id": "m", "at_mm": [)" + x +
                                                   R"(, -52.5], "diameter_mm": 4.5}]})"}});
    int n = 0;
    for (const DriverPath& p : paths_of(m)) n += p.under_frame;
    return n;
  };
  CHECK(covered(0) == 15);
  CHECK(covered(0.8) == 15);
  CHECK(covered(0.82) == 16);
}

TEST_CASE("driver: what stands still above a screw at every position blocks it, and less does not", "[driver]") {
  const auto beam = [](double from, double to, double z) {
    return Setting{"/keep_outs", R"([{"id": "beam", "min_mm": [-110, )" + std::to_string(from) + ", " +
                                     std::to_string(z) + R"(], "max_mm": [-40, )" + std::to_string(to) + ", " +
                                     std::to_string(z + 10) + "]}]"};
  };
  const std::vector<Finding> all = blocked(made({beam(-300, 300, 20)}));
  CHECK(count(all, "driver-blocked") == 10);  // both plates on the left
  CHECK(all.front().severity == Severity::error);
  CHECK_THAT(all.front().message, Catch::Contains("beam at every position along the rails"));
  CHECK(blocked(made({beam(-300, 300, 90)})).empty());  // above the key's end
  CHECK(blocked(made({beam(-40, 40, 20)})).empty());    // the bed moves from under it
}

TEST_CASE("driver: a counterbore too narrow for its screw head blocks", "[driver]") {
  // ISO 4762 M3: the head measures 5.68 mm at most. Slots keep the head's way open to both sides; these have none.
  const auto bored = [](double diameter) {
    Made m = made({{"/parts/0/slot_mm", "0"}});
    for (Part& part : m.parts)
      for (Feature& f : part.features)
        if (f.kind == FeatureKind::counterbore)
          f.profile = {circle_loop({f.at.x, f.at.y}, diameter / 2, Facets::outside)};
    return blocked(m);
  };
  const std::vector<Finding> narrow = bored(5.6);
  CHECK(count(narrow, "driver-blocked") == 16);
  CHECK_THAT(narrow.front().message, Catch::Contains("its own plate stands "));
  CHECK(bored(5.7).empty());
}

TEST_CASE("driver: screws come before what covers them", "[driver][steps]") {
  for (const char* name : {"north-bench", "south-bench", "flat-bench", "tall-bench", "every-option"}) {
    const Made m = made({}, name);
    const std::vector<Step> steps = steps_of(m);
    CAPTURE(name);
    for (const DriverPath& p : paths_of(m)) {
      CAPTURE(p.joint);
      const int own = step_with(steps, p.joint);
      REQUIRE(own > 0);
      if (p.under_frame) CHECK(own < step_saying(steps, "Set the frame on the plates"));
      const int bed = step_saying(steps, "fit the bed loosely");
      if (p.under_bed && bed > 0) CHECK(own < bed);
    }
    CHECK(step_saying(steps, "which covers all 16 of these screws") > 0);
  }
}
