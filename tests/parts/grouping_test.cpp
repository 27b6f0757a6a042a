// Which plates are the same: laws that follow from symmetry alone.
#include "parts/grouping.h"

#include <catch2/catch.hpp>

#include "parts/adapter_plate.h"
#include "parts/support.h"

using namespace parts_test;

namespace {

std::vector<Part> plates(const std::vector<Setting>& settings) {
  return of_family(parts_of(demo_kit("north-bench", settings)), "adapter_plate");
}

std::vector<Part> candidates(const Kit& kit) {
  for (const PartRequest& r : kit.parts)
    if (r.family == "adapter_plate") return derive_adapter_plates(kit, settle(kit), r);
  return {};
}

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("grouping: a symmetric machine has two plates, each used at opposite corners, one the other's mirror image") {
  const std::vector<Part> p = plates({});
  REQUIRE(p.size() == 2);
  CHECK(p[0].id == "adapter-a");
  CHECK(p[0].placements == Names{"front-left", "rear-right"});
  CHECK(p[0].quantity == 2);
  CHECK(p[0].hand == Hand::left);
  CHECK(p[0].mirror_of.empty());
  CHECK(p[1].id == "adapter-b");
  CHECK(p[1].placements == Names{"front-right", "rear-left"});
  CHECK(p[1].hand == Hand::right);
  CHECK(p[1].mirror_of == "adapter-a");
  for (const Part& part : p) CHECK(part.quarter_turns == std::vector<int>{0, 2});
}

TEST_CASE("grouping: an apex off both axes makes four different plates without hands") {
  const std::vector<Part> p = plates({{"/frame/dome/apex_mm", "[12, 7]"}});
  REQUIRE(p.size() == 4);
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(p[i].id == "adapter-" + std::string(1, static_cast<char>('a' + i)));
    CHECK(p[i].placements == Names{placement_ids[i]});
    CHECK(p[i].hand == Hand::none);
    CHECK(p[i].mirror_of.empty());
  }
  CHECK(of_family(parts_of(demo_kit("tall-bench")), "adapter_plate").size() == 4);
}

TEST_CASE("grouping: an apex off one axis leaves one mirror plane and makes two pairs of hands") {
  const std::vector<Part> sideways = plates({{"/frame/dome/apex_mm", "[12, 0]"}});
  REQUIRE(sideways.size() == 4);  // mirrored in y: front-left and rear-left are a pair
  CHECK(sideways[2].mirror_of == "adapter-a");
  CHECK(sideways[3].mirror_of == "adapter-b");
  const std::vector<Part> rearward = plates({{"/frame/dome/apex_mm", "[0, 12]"}});
  REQUIRE(rearward.size() == 4);
  CHECK(rearward[0].hand == Hand::left);
  CHECK(rearward[1].hand == Hand::right);
  CHECK(rearward[1].mirror_of == "adapter-a");
  CHECK(rearward[2].hand == Hand::left);
  CHECK(rearward[3].mirror_of == "adapter-c");
}

TEST_CASE("grouping: a flat frame with holes over the carriages' centre lines needs fewer plates") {
  // Frame holes in front of and behind each carriage, on its centre line: a turn by 180 degrees and a mirror in x both
  // carry the one plate to every corner.
  const std::vector<Setting> flat = {
      {"/frame/dome", R"({"shape": "flat"})"},
      {"/frame/hole_pattern/pitch_mm", "[150, 150]"},
      {"/frame/bed_mounts/pitch_mm", "[176, 176]"},
  };
  const std::vector<Part> p = plates(flat);
  REQUIRE(p.size() == 1);
  CHECK(p[0].id == "adapter-a");
  CHECK(p[0].quantity == 4);
  CHECK(p[0].hand == Hand::none);
  CHECK(p[0].quarter_turns == std::vector<int>{0, 0, 2, 2});
}

TEST_CASE("grouping: a hundredth is a difference and half a thousandth is none") {
  CHECK(plates({{"/frame/dome/apex_mm", "[0.005, 0]"}}).size() == 2);  // opposite seats differ by 0.01 * 105 / 2600
  CHECK(plates({{"/frame/dome/apex_mm", "[1, 0]"}}).size() == 4);      // by 0.08 mm
  Kit kit = demo_kit("north-bench");
  kit.frame.holes[0].at_mm.x += 0.0004;
  CHECK(of_family(parts_of(kit), "adapter_plate").size() == 2);
  kit.frame.holes[0].at_mm.x += 0.01;
  CHECK(of_family(parts_of(kit), "adapter_plate").size() == 3);
}

TEST_CASE("grouping: slots at some corners only make those plates different") {
  const std::vector<Part> p =
      plates({{"/parts/0/slot_at", R"(["front-left", "front-right"])"}, {"/parts/0/slot_mm", "1"}});
  REQUIRE(p.size() == 4);
  CHECK(count_of(p[0], FeatureKind::slot) == 4);
  CHECK(count_of(p[2], FeatureKind::slot) == 0);
  // Slots along the diagonal corners keep the turn by 180 degrees.
  CHECK(plates({{"/parts/0/slot_at", R"(["front-left", "rear-right"])"}}).size() == 2);
}

TEST_CASE("grouping: every placement is served once, and the turned part is the plate that belongs there") {
  for (const char* kit_name : {"north-bench", "tall-bench", "flat-bench", "south-bench", "every-option"}) {
    CAPTURE(kit_name);
    const Kit kit = demo_kit(kit_name);
    const std::vector<Part> wanted = candidates(kit);
    std::vector<Part> found;
    for (const PartRequest& r : kit.parts)
      if (r.family == "adapter_plate") {
        found = grouped(wanted);
        break;
      }
    std::size_t served = 0;
    for (const Part& part : found)
      for (std::size_t i = 0; i < part.placements.size(); ++i, ++served)
        for (const Part& candidate : wanted)
          if (candidate.placements.front() == part.placements[i])
            CHECK(same_shape(candidate, part, quarter_turn(2, part.quarter_turns[i])));
    CHECK(served == wanted.size());
    // Smallest set: no two of the distinct parts are the same.
    for (std::size_t i = 0; i < found.size(); ++i)
      for (std::size_t j = i + 1; j < found.size(); ++j) CHECK(turns_between(found[i], found[j]).empty());
  }
}

TEST_CASE(
    "grouping: a plate is itself unturned, its mirror image twice mirrored, and four quarter turns bring it back") {
  const std::vector<Part> wanted = candidates(demo_kit("tall-bench"));
  REQUIRE(wanted.size() == 4);
  for (const Part& p : wanted) {
    CHECK(turns_between(p, p) == std::vector<int>{0});
    CHECK_FALSE(mirror_images(p, p));
    CHECK(same_shape(p, p, compose(mirror_x(), mirror_x())));
    Transform round;
    for (int i = 0; i < 4; ++i) round = compose(quarter_turn(2, 1), round);
    CHECK(same_shape(p, p, round));
    CHECK_FALSE(same_shape(p, p, quarter_turn(2, 1)));
    CHECK_FALSE(same_shape(p, p, mirror_x()));
  }
}

TEST_CASE("grouping: a machine mirrored in x has the same plates with the hands exchanged") {
  Kit kit = demo_kit("tall-bench");
  Kit mirrored = kit;
  mirrored.frame.dome.apex_mm.x = -mirrored.frame.dome.apex_mm.x;
  for (FrameHole& h : mirrored.frame.holes) h.at_mm.x = -h.at_mm.x;
  // The reference rail changes sides too: its plates have round holes, the others slots.
  REQUIRE(kit.rails.reference == "left");
  mirrored.rails.reference = "right";
  const std::vector<Part> one = candidates(kit), other = candidates(mirrored);
  REQUIRE(one.size() == 4);
  const std::size_t partner[] = {1, 0, 3, 2};
  for (std::size_t i = 0; i < 4; ++i) CHECK(same_shape(other[partner[i]], one[i], mirror_x()));
}

TEST_CASE("grouping: a plate whose holes and apex move together with its carriage is the same plate") {
  // Wider rails, with frame holes and apex moved as far as the left carriages: nothing changes for these.
  Kit near = demo_kit("north-bench"), wide = near;
  near.parts[0].placements = wide.parts[0].placements = {"front-left"};
  wide.rails.pitch_mm += 20;
  for (FrameHole& h : wide.frame.holes) h.at_mm.x += h.at_mm.x < 0 ? -10 : 10;
  wide.frame.dome.apex_mm.x -= 10;
  const std::vector<Part> a = candidates(near), b = candidates(wide);
  REQUIRE(a.size() == 1);
  REQUIRE(b.size() == 1);
  CHECK(same_shape(a[0], b[0], Transform{}));
  wide.frame.dome.apex_mm.x += 3;
  CHECK_FALSE(same_shape(a[0], candidates(wide)[0], Transform{}));
}

TEST_CASE("grouping: marks do not count, and anything else does") {
  const std::vector<Part> p = plates({});
  Part other = p[0];
  REQUIRE(count_of(other, FeatureKind::mark) > 0);
  other.features.erase(std::remove_if(other.features.begin(), other.features.end(),
                                      [](const Feature& f) { return f.kind == FeatureKind::mark; }),
                       other.features.end());
  CHECK(same_shape(p[0], other, Transform{}));
  Part deeper = other, shifted = other, lost = other, raised = other;
  for (Feature& f : deeper.features)
    if (f.kind == FeatureKind::insert_pocket) f.to.z_mm += 0.01;
  for (Feature& f : shifted.features)
    if (f.id == "carriage-hole-2") f.profile[0] = transformed(f.profile[0], shift({0.01, 0, 0}));
  lost.features.pop_back();
  raised.seat.height += 0.01;
  for (const Part& wrong : {deeper, shifted, lost, raised}) CHECK_FALSE(same_shape(p[0], wrong, Transform{}));
}
