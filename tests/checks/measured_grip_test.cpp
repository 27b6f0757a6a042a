// The grip of a plate's screws is the file's, not the drawing's.
#include "checks/measured_grip.h"

#include <catch2/catch.hpp>

#include "checks/bench.h"
#include "parts/part_joints.h"

using namespace bedwright;

namespace {

const JointSolution& joint_of(const Report& report, const std::string& id) {
  for (const JointSolution& s : report.joints)
    if (s.joint.id == id) return s;
  throw std::runtime_error("no joint " + id);
}

double printed_mm(const JointSolution& s) {
  return s.joint.layers.back().mm;
}

}  // namespace

TEST_CASE("measured grip: a good file has what was drawn, dome included", "[checks][joints]") {
  for (const char* crown : {"up", "down"}) {
    const Bench bench({{"/frame/dome/crown", crown}, {"/frame/dome/radius_mm", 1500}, {"/frame/dome/apex_mm", {5, 3}},
                       {"/parts/0/thickness_mm", 7}});
    const Report report = bench.report();
    int seen = 0;
    for (const MadePart& p : bench.parts)
      for (const Joint& drawn : joints_of_part(bench.kit, p.report.part)) {
        CAPTURE(drawn.id, crown);
        // Flat floors lie on the lattice; a seat within a chord and a ring's bow (3^2 / 2 / 1500).
        const double tolerance = drawn.anchor.kind == "carriage" ? 1e-4 : 0.014;
        CHECK(printed_mm(joint_of(report, drawn.id)) == Approx(drawn.layers.back().mm).margin(tolerance));
        ++seen;
      }
    CHECK(seen == 20);
  }
}

TEST_CASE("measured grip: a file that is thicker at one hole", "[checks][joints]") {
  Bench bench;
  MadePart& part = bench.part("adapter-a");
  const double before = printed_mm(joint_of(bench.report(), "adapter-a-frame-hole-front-left"));
  const double carriage = printed_mm(joint_of(bench.report(), "adapter-a-carriage-hole-1"));
  Vec2 hole;
  for (const Feature& f : part.report.part.features)
    if (f.id == "frame-hole-front-left") hole = {f.at.x, f.at.y};
  const Transform& to_part = part.report.pose.print_to_part;
  for (Vec3& v : part.measured.mesh.vertices) {
    Vec3 at = apply(to_part, v);
    if (length(Vec2{at.x, at.y} - hole) > 12 || at.z < 2) continue;
    at.z += 0.3;
    v = apply(inverse(to_part), at);
  }
  const Report report = bench.report();
  CHECK(printed_mm(joint_of(report, "adapter-a-frame-hole-front-left")) == Approx(before + 0.3).margin(0.02));
  CHECK(printed_mm(joint_of(report, "adapter-a-carriage-hole-1")) == Approx(carriage).margin(1e-4));
}

TEST_CASE("rails: their screws follow from what they are screwed to", "[joints][hardware]") {
  Report report = Bench().report();
  REQUIRE(with_code(report, "rail-screws").size() == 1);
  // Size 12: 3.5 mm of rail under the head (public dimension library: 8 high, counterbore 4.5 deep).
  CHECK(with_code(report, "rail-screws")[0].value == 3.5);
  report = Bench(std::vector<Change>{{"/rails/base", {{"kind", "tapped"}, {"depth_mm", 4}, {"between_mm", 1.5}}}}).report();
  CHECK(with_code(report, "rail-screws").empty());
  const JointSolution& s = joint_of(report, "rails");
  CHECK(s.grip_least_mm == Approx(5.0));
  CHECK(s.joint.count == 2 * 15);  // 370 = 2 x 10 + 14 x 25
  CHECK(s.pick_mm == 8);           // 5 + 2.5 = 7.5 at least
  const bool listed = std::any_of(report.hardware.begin(), report.hardware.end(), [](const HardwareLine& l) {
    return l.item == "ISO 4762 M3x8" && l.purpose.find("rails to base") != std::string::npos && l.quantity >= 30;
  });
  CHECK(listed);
  report = Bench(std::vector<Change>{
                     {"/rails/base",
                      {{"kind", "tapped"}, {"depth_mm", 2}, {"behind", "the supply"}, {"clear_mm", 0.5}}}})
               .report();
  CHECK_FALSE(joint_of(report, "rails").ok);
  CHECK_FALSE(with_code(report, "no-screw").empty());
}

TEST_CASE("clamp limit: by material unless the kit says a number", "[joints]") {
  // params/hardware/materials.json: 15 MPa for asa, 12 for petg; common practice, no source.
  const auto limit = [](const std::vector<Change>& changes) {
    return joint_of(Bench(changes).report(), "adapter-a-carriage-hole-1").joint.rules.clamp_limit_mpa;
  };
  CHECK(limit({}) == 15);
  CHECK(limit({{"/printer/material", "petg"}}) == 12);
  CHECK(limit({{"/parts/0/material", "pc"}}) == 20);
  CHECK(limit({{"/printer/material", "petg"}, {"/joint_rules", {{"clamp_limit_mpa", 14}}}}) == 14);
  // The kit's own joints clamp the printer's material.
  CHECK(joint_of(Bench(std::vector<Change>{{"/printer/material", "petg"}}).report(), "side-foot")
            .joint.rules.clamp_limit_mpa == 12);
}
