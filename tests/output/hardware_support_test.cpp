// What a support plate needs of screws and inserts stands in the list: counted by hand.
#include <algorithm>
#include <catch2/catch.hpp>

#include "base/trig.h"
#include "joints/clamp.h"
#include "output/make_set.h"
#include "parts/part_joints.h"
#include "parts/support.h"

using namespace parts_test;

TEST_CASE("hardware: a support plate's screws and inserts are in the list, its window is settled, the earth path told",
          "[hardware]") {
  const Kit kit = kit_with_part(R"({"id": "light", "family": "support_plate"})", {{"/joints", "[]"}});
  const Layout layout = settle(kit);
  std::vector<MadePart> made;
  for (const Part& part : parts_of(kit)) made.push_back(make_part(kit, part));
  for (std::size_t i = 0; i < made.size(); ++i) compare_made(made, i);
  const Report report = assemble(kit, layout, made, {});
  int screws = 0, inserts = 0, mounts = 0;
  for (const HardwareLine& line : report.hardware) {
    // A sheet of 5 mm, M3x8: 3 mm in the carriage's 3.5 mm of thread (5 pitches need 2.5, 0.3 stay clear).
    if (line.item == "ISO 4762 M3x8") screws += line.quantity;
    // Bed 4, posts 24, spacer none, standoff 16 less the insert's 4.7: a grip of 39.3, and 5 pitches of 0.7 in the insert
    // are 42.8: M4x45.
    if (line.item == "ISO 4762 M4x45") mounts += line.quantity;
    if (line.kind == "insert") inserts += line.quantity;
  }
  CHECK(screws == 16);
  CHECK(inserts == 4);
  CHECK(mounts == 4);
  CHECK(report.joints.size() == 20);
  for (const JointSolution& j : report.joints) {
    CHECK(j.ok);
    if (j.joint.id.rfind("light-mount-hole-", 0) != 0) continue;
    // The head of 7 mm spreads through the bed alone, to 11 mm; posts may be thin: 15 MPa on the ring of 11 and 4.5 mm.
    const Clamp clamp = clamp_of(j.joint);
    CHECK(clamp.area_mm2 == Approx(pi / 4 * (11 * 11 - 4.5 * 4.5)));
    CHECK(clamp.stress_mpa <= 15.001);
  }
  const auto told = [&](const std::string& code) {
    return std::any_of(report.findings.begin(), report.findings.end(),
                       [&](const Finding& f) { return f.code == code; });
  };
  CHECK(told("earth-path"));
  CHECK(told("support-stiffness"));
  // The four standoffs' heights over the underside are read from the file.
  int heights = 0;
  for (const MeasuredDimension& d : report.parts.front().dimensions)
    if (d.feature.rfind("standoff-", 0) == 0 && d.quantity == "rise" && d.measured_mm) {
      ++heights;
      CHECK(*d.measured_mm == Approx(16).margin(0.001));
    }
  CHECK(heights == 4);
}

TEST_CASE("hardware: a bed screw's length is told with the spacer that the kit states, not with one that a height settles",
          "[hardware]") {
  const auto mounts = [](const std::vector<Setting>& more) {
    std::vector<Setting> settings = {
        {"/parts/3", R"({"id": "riser", "family": "spacer", "thickness_mm": 8, "outer_mm": 14, "hole_mm": 4.5})"},
        {"/bed/spacer", "riser"}};
    settings.insert(settings.end(), more.begin(), more.end());
    const Kit kit = demo_kit("light-bench", settings);
    double spacer_mm = 0;
    int count = 0;
    for (const Part& part : of_family(parts_of(kit), "support_plate"))
      for (const Joint& joint : joints_of_part(kit, part)) {
        if (joint.id.find("mount-hole") == std::string::npos) continue;
        ++count;
        for (const JointLayer& layer : joint.layers)
          if (layer.name == "riser") spacer_mm = layer.mm;
      }
    return std::make_pair(count, spacer_mm);
  };
  CHECK(mounts({}) == std::make_pair(4, 8.0));
  CHECK(mounts({{"/bed/height_mm", "60"}}).first == 0);
}
