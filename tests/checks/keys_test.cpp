// Keys: that the smallest one is found, that it blocks what it is said to block, and that it is in nobody's way.
#include <algorithm>
#include <catch2/catch.hpp>

#include "base/trig.h"
#include "checks/checks.h"
#include "checks/keyed_parts.h"
#include "checks/way_blocked.h"
#include "gauge/compare.h"
#include "kit/read_kit.h"
#include "output/make_set.h"
#include "parts/key.h"
#include "ways_bench.h"
#include "ways_referee.h"

using namespace bedwright;

namespace {

const Setting keyed{"/parts/0/key", "true"};

int open_ways(const Made& m) {
  return int(std::count_if(m.ways.begin(), m.ways.end(), matters));
}

std::string said(const Made& m) {
  for (const Part& part : m.parts)
    for (const std::string& s : part.statements)
      if (s.rfind("key:", 0) == 0 || s.rfind("no key", 0) == 0) return s;
  return "";
}

std::vector<const Feature*> keys_of(const Part& part) {
  std::vector<const Feature*> keys;
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::key) keys.push_back(&f);
  return keys;
}

int plates(const Made& m) {
  return int(std::count_if(m.parts.begin(), m.parts.end(), [](const Part& p) { return p.family == "adapter_plate"; }));
}

}  // namespace

TEST_CASE("key: a pattern that fits turned by half a turn is closed by a tab", "[key]") {
  // Centred dome: two shapes, each at two places by half a turn.
  const Settings kit = {holes(even), dome("sphere", 2600), no_mark};
  const Made open = made(kit);
  REQUIRE(open_ways(open) > 0);
  const Made closed = made(kit + keyed);
  CAPTURE(said(closed));
  CHECK(open_ways(closed) == 0);
  CHECK(count(findings_of(closed), "key-chosen") == 1);
  CHECK(findings_of(closed).size() == 1);
  CHECK(plates(closed) == plates(open));
  for (const Part& part : closed.parts)
    if (part.family == "adapter_plate") {
      CHECK(keys_of(part).size() >= 1);
      CHECK(part.quantity == 2);
      CHECK(part.placements.size() == 2);
    }
  CHECK(right_ways_blocked(closed.kit, closed.layout, closed.parts).empty());
  CHECK(std::any_of(closed.ways.begin(), closed.ways.end(), [](const WrongWay& w) { return w.blocked_by == "key"; }));
}

TEST_CASE("key: four different plates under an off-centre dome each fit their own place only", "[key]") {
  const Settings kit = {holes(even), dome("sphere", 2600, {14, -9.5}), no_mark};
  const Made closed = made(kit + keyed);
  CAPTURE(said(closed));
  CHECK(open_ways(made(kit)) == 28);  // seven other ways to put a plate at each place
  CHECK(open_ways(closed) == 0);
  CHECK(plates(closed) == 4);
  CHECK(count(findings_of(closed), "key-open") == 0);
}

TEST_CASE("key: the brute force says so too", "[key][referee]") {
  for (const Vec2 apex : {Vec2{0, 0}, Vec2{14, -9.5}}) {
    const Made m = made({holes(even), dome("sphere", 2600, apex), no_mark, keyed});
    CAPTURE(said(m));
    int blocked = 0;
    for (const RefereeWay& r : referee_ways(m.kit, m.layout, m.parts)) {
      CAPTURE(r.part, r.placement, r.as, r.turn, r.flipped);
      if (r.same || r.undecided) continue;
      const WrongWay* way = find(m.ways, r.placement, r.turn, r.flipped, r.as);
      REQUIRE(way);
      CAPTURE(way->consequence);
      CHECK(way->bolts_up == r.bolts_up);
      blocked += !r.bolts_up;
    }
    CHECK(blocked > 0);
  }
}

TEST_CASE("key: without a wrong way there is none, and without a wish neither", "[key]") {
  // North-bench has one hole a carriage, outward of it: nothing else meets it.
  const Made m = made({keyed});
  CHECK_THAT(said(m), Catch::StartsWith("no key: no wrong way"));
  for (const Part& part : m.parts) CHECK(keys_of(part).empty());
  CHECK(said(made({holes(even), dome("sphere", 2600)})).empty());
}

TEST_CASE("key: taken off again, the way it blocked is open", "[key]") {
  Made m = made({holes(even), dome("sphere", 2600), no_mark, keyed});
  REQUIRE(open_ways(m) == 0);
  for (Part& part : m.parts)
    part.features.erase(std::remove_if(part.features.begin(), part.features.end(),
                                       [](const Feature& f) { return f.kind == FeatureKind::key; }),
                        part.features.end());
  m.ways = wrong_ways(m.kit, m.layout, m.parts);
  CHECK(open_ways(m) > 0);
}

TEST_CASE("key: plates too far apart for one say which way stays open", "[key]") {
  const Made m = made({{"/carriages/spacing_mm", "190"},
                       {"/rails/length_mm", "600"},
                       holes(even, false, 95),
                       dome("sphere", 2600),
                       keyed});
  CAPTURE(said(m));
  REQUIRE(open_ways(m) > 0);
  const std::vector<Finding> findings = findings_of(m);
  REQUIRE(count(findings, "key-open") == 1);
  const auto f = std::find_if(findings.begin(), findings.end(), [](const Finding& x) { return x.code == "key-open"; });
  CHECK_THAT(f->message, Catch::Contains("bolts up: "));
  CHECK_FALSE(f->remedy.empty());
}

TEST_CASE("key: none is taken that would run into a keep-out on its travel", "[key]") {
  const Settings kit = {holes(even), dome("sphere", 2600), keyed};
  REQUIRE_THAT(said(made(kit)), Catch::Contains("tab at the outer edge"));
  // A rail of 370 lets the plates travel 121 each way; tabs end 73.8 before and behind the carriages at 45.
  const auto beam = [](double y) {
    return Setting{"/keep_outs", R"([{"id": "beam", "min_mm": [-200, )" + std::to_string(y) + R"(, 1], "max_mm": [200, )" +
                                     std::to_string(y + 5) + ", 2]}]"};
  };
  const Made far = made(kit);
  const double end = 45 + 73.9 + far.layout.travel_available_mm / 2;
  CHECK(open_ways(made(kit + beam(end))) == 0);
  CHECK(open_ways(made(kit + beam(end - 1))) > 0);
}

TEST_CASE("key: plans come least plastic first, and none touches sheet, carriage, rail, base or a plate", "[key]") {
  const Made m = made({holes(even), dome("sphere", 1400, {14, -9.5})});
  std::vector<Part> bare;
  for (const char* id : placement_ids)
    for (const Part& part : derive_parts(m.kit, m.layout))
      for (std::size_t i = 0; i < part.placements.size(); ++i)
        if (part.placements[i] == id && part.quarter_turns[i] == 0) bare.push_back(part);
  REQUIRE(bare.size() == 4);
  const std::vector<KeyPlan> plans = key_plans(m.kit, m.layout, bare, {});
  REQUIRE(plans.size() > 5);
  double before = 0;
  for (const KeyPlan& plan : plans) {
    CAPTURE(plan.words);
    CHECK(plan.added_mm3 >= before - 1e-3);
    before = plan.added_mm3;
    const std::vector<Part> parts = derive_parts(m.kit, m.layout, {{"adapter", plan}});
    CHECK(right_ways_blocked(m.kit, m.layout, parts).empty());
    for (const Part& part : parts)
      for (const Feature* key : keys_of(part)) {
        // Closed form: a sphere's height at the box's corner farthest from the apex.
        for (const Curve& c : key->profile.front().curves) CHECK(height_at(part.seat, c.start) - key->to.z_mm > 0.49);
        const CarriageSize& carriage = m.kit.carriages.size;
        CHECK(key->from.z_mm > -carriage.assembly_height_mm + 1);
      }
  }
}

TEST_CASE("key: its size is measured in the file", "[key]") {
  Made m = made({holes(even), dome("sphere", 2600, {14, -9.5}), keyed, {"/printer/compensation/outline_mm", "-0.1"}});
  std::vector<MadePart> parts;
  for (const Part& part : m.parts)
    if (part.family == "adapter_plate") parts.push_back(make_part(m.kit, part));
  for (std::size_t i = 0; i < parts.size(); ++i) {
    compare_made(parts, i);
    int measured = 0;
    for (const MeasuredDimension& d : parts[i].report.dimensions) {
      if (d.feature.rfind("key-", 0) != 0 && d.feature != "outline") continue;
      CAPTURE(parts[i].report.part.id, d.feature, d.quantity, d.nominal_mm, d.modelled_mm);
      REQUIRE(d.measured_mm);
      CAPTURE(*d.measured_mm);
      CHECK(d.ok);
      ++measured;
    }
    CHECK(measured >= 2 + 3);
    CHECK(parts[i].report.mesh.self_intersections == 0);
    CHECK(parts[i].comparison.ok);
  }
}
