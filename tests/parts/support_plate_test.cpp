// The support plate: what bears, what stays clear, and that it prints without support.
#include <catch2/catch.hpp>
#include <cmath>

#include "base/error.h"
#include "gauge/compare.h"
#include "gauge/gauge.h"
#include "kit/hardware.h"
#include "parts/support.h"
#include "print/pose.h"
#include "solid/build.h"

using namespace parts_test;

namespace {

const char* plain = R"({"id": "light", "family": "support_plate"})";

Part only(const std::string& json, const std::vector<Setting>& more = {}) {
  const std::vector<Part> parts = parts_of(kit_with_part(json, more));
  REQUIRE(parts.size() == 1);
  return parts.front();
}

std::vector<const Feature*> named(const Part& part, const std::string& start) {
  std::vector<const Feature*> some;
  for (const Feature& f : part.features)
    if (f.id.compare(0, start.size(), start) == 0) some.push_back(&f);
  return some;
}

}  // namespace

TEST_CASE("support plate: standoffs stand on the bed mounts, all of one height") {
  const Part p = only(plain);
  const std::vector<const Feature*> standoffs = named(p, "standoff-");
  REQUIRE(standoffs.size() == 4);
  for (const Feature* f : standoffs) {
    CHECK(std::fabs(f->at.x) == 88);
    CHECK(std::fabs(f->at.y) == 88);
    CHECK(f->to.z_mm == 16);
  }
  const Part tall = only(R"({"id": "light", "family": "support_plate", "standoff_mm": 20})",
                         {{"/printer/compensation/height_mm", "0.1"}});
  for (const Feature* f : named(tall, "standoff-")) CHECK(f->to.z_mm == Approx(20.1));
}

TEST_CASE("support plate: carriage holes are the carriages' own, and no rib or window comes near a head") {
  const Part p = only(plain);
  const std::vector<const Feature*> holes = named(p, "carriage-hole-");
  REQUIRE(holes.size() == 16);
  // north-bench: rails 150 apart, carriages 90; holes 20 x 15.
  CHECK(std::fabs(holes[0]->at.x) == Approx(85));
  CHECK(std::fabs(holes[0]->at.y) == Approx(52.5));
  const double head = find_cap_screw("M3")->head_diameter_mm / 2;
  for (const Feature* hole : holes)
    for (const Feature& f : p.features) {
      const bool rib = f.id.compare(0, 4, "rib-") == 0, window = f.id.compare(0, 7, "window-") == 0;
      if (!rib && !window) continue;
      CHECK_FALSE(contains(f.profile.front(), {hole->at.x, hole->at.y}));
      CHECK(distance(f.profile.front(), {hole->at.x, hole->at.y}) > head);
    }
}

TEST_CASE("support plate: inserts go in from below, so that the bed's screw pulls them into the plastic") {
  const Part p = only(plain);
  const std::vector<const Feature*> inserts = named(p, "insert-");
  REQUIRE(inserts.size() == 4);
  for (const Feature* f : inserts) {
    CHECK(f->axis.z == -1);
    CHECK(f->at.z == 0);
    CHECK(f->to.z_mm == Approx(4.7 + 0.5));  // m4-standard is 4.7 long
  }
}

TEST_CASE("support plate: lies on its flat face without support, and measures as drawn") {
  const Kit kit = kit_with_part(R"({"id": "light", "family": "support_plate",
      "pads": [{"at_mm": [0, 60], "size_mm": [20, 14], "height_mm": 6, "hole_mm": 4.5}]})");
  const Part p = parts_of(kit).front();
  const Mesh solid = build_solid(p);
  const Pose pose = choose_pose(p, solid, kit.printer);
  // What hangs over is the floors of the insert pockets: bridges round the screw hole.
  double pockets = 0;
  for (const Feature* f : named(p, "insert-")) {
    const double r = find_dimension(*f, "diameter")->modelled_mm / 2;
    pockets += 3.14159265358979 * r * r;
  }
  CHECK(pose.overhang_mm2 <= pockets);
  const Comparison comparison = compare(measure(solid), {&p, &solid, {}}, {});
  int measured = 0;
  for (const MeasuredDimension& d : comparison.dimensions)
    if (d.measured_mm) {
      ++measured;
      INFO(d.feature << " " << d.quantity << " " << d.modelled_mm << " measured " << *d.measured_mm);
      CHECK(d.ok);
    }
  CHECK(measured > 80);
}

TEST_CASE("support plate: what cannot carry a bed is refused with a cure") {
  const auto code = [](const std::string& json, const std::vector<Setting>& more) -> std::string {
    try {
      only(json, more);
    } catch (const CannotBuild& error) {
      return error.code;
    }
    return "";
  };
  CHECK(code(R"({"id": "light", "family": "support_plate", "standoff_mm": 5.5})", {}) == "standoff-low");
  Kit bare = kit_with_part(plain);
  bare.frame.mounts.clear();
  try {
    parts_of(bare);
    FAIL("nothing to carry, and no word of it");
  } catch (const CannotBuild& error) {
    CHECK(error.code == "support-plate-no-mounts");
  }
  // ISO 4762 M3 in 3.5 mm of thread: 2.5 to 3.2 mm must stick out (5 pitches, 0.3 mm clear); a sheet of 2.1 mm leaves
  // no listed length between 4.6 and 5.3 but M3x5.
  CHECK(code(R"({"id": "light", "family": "support_plate", "thickness_mm": 2.1})", {}) == "");
  // 9 pitches of 0.5 mm are 4.5 mm: more than a carriage's thread is deep.
  CHECK(code(R"({"id": "light", "family": "support_plate"})", {{"/joint_rules", R"({"engagement_pitches": 9})"}}) == "no-screw-length");
}
