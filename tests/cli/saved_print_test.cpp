// The sentences that would have saved a print, as a builder gets them.
#include <catch2/catch.hpp>

#include "cli/program.h"

using namespace bedwright;
using nlohmann::json;

namespace {

/// Lines are wrapped for people; a sentence is looked for as one line.
std::string unwrapped(const std::string& text) {
  std::string line;
  for (char c : text) {
    const char put = c == '\n' ? ' ' : c;
    if (put != ' ' || line.empty() || line.back() != ' ') line += put;
  }
  return line;
}

json even_holes(double x, double y) {
  json list = json::array();
  for (double cy : {-45.0, 45.0})
    for (double cx : {-75.0, 75.0})
      for (double side : {1.0, -1.0})
        list.push_back({{"id", "h" + std::to_string(list.size() + 1)},
                        {"at_mm", {cx + side * x, cy + side * y}},
                        {"diameter_mm", 4.5}});
  return {{"kind", "listed"}, {"holes", list}};
}

json off_centre() {
  json kit = demo_kit("north-bench");
  kit["frame"]["hole_pattern"] = even_holes(24, 10);
  kit["frame"]["dome"]["apex_mm"] = {14, -9.5};
  return kit;
}

}  // namespace

TEST_CASE("saved print: bosses on the other side", "[cli][saved]") {
  Workshop shop;
  // Printed from a kit with the bosses up, for a kit that has them down.
  json up = demo_kit("north-bench");
  shop.put("kit.json", up);
  up["parts"][0]["boss_side"] = "up";
  up["parts"][0]["thickness_mm"] = 9;
  up["parts"][0]["boss_height_mm"] = 3;
  shop.put("up.json", up);
  REQUIRE(shop.run("make up.json --out up").status == 0);
  const Run gauge = shop.run("gauge up/stl/adapter-a.stl --kit kit.json --part adapter-a");
  CHECK(gauge.status == 1);
  CHECK_THAT(unwrapped(gauge.out), Catch::Contains("wrong-boss-side: the bosses are on the other side of the plate"));
  // Before it is printed: the other kit beside this one.
  const Run against = shop.run("check up.json --against kit.json");
  CHECK_THAT(unwrapped(against.out), Catch::Contains("adapter-a of revision A at front-left"));
  // Down where they would hang into the carriage.
  const Run down = shop.run("check kit.json --set '/frame/hole_pattern/pitch_mm=[186,90]'");
  CHECK(down.status == 1);
  CHECK_THAT(unwrapped(down.out),
             Catch::Contains("would hang into the carriage front-left") && Catch::Contains("use boss_side up"));
}

TEST_CASE("saved print: a symmetrical pattern over an off-centre dome", "[cli][saved]") {
  Workshop shop;
  json kit = off_centre();
  kit["parts"][0]["mark"] = false;
  shop.put("kit.json", kit);
  const Run run = shop.run("check kit.json");
  CHECK(run.status == 1);
  const std::string out = unwrapped(run.out);
  CHECK_THAT(out, Catch::Contains(
                      "wrong-way-unmarked: adapter-a turned by 180 deg at front-left bolts up: 4.84 mm of gap at the "
                      "rear-right corner"));
  CHECK_THAT(out, Catch::Contains("no mark says so"));
  // Its marks make it a warning; a key closes it.
  shop.put("marked.json", off_centre());
  const Run marked = shop.run("check marked.json");
  CHECK(marked.status == 0);
  CHECK_THAT(unwrapped(marked.out), Catch::Contains("the mark's arrow then points away from the machine's front"));
  const Run keyed = shop.run("check marked.json --set /parts/0/key=true");
  CHECK(keyed.status == 0);
  CHECK_THAT(keyed.out,
             Catch::Contains("Wrong ways to put it on: 0 bolt up, ") && Catch::Contains("a key is in the way"));
}

TEST_CASE("saved print: a screw 2 mm too long", "[cli][saved]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  const Run run = shop.run(R"(check kit.json --set '/stock=[{"thread": "M3", "lengths_mm": [8]}]')");
  CHECK(run.status == 0);
  const std::string out = unwrapped(run.out);
  // The window ends at 6.32: 3.12 of grip and 3.5 of thread, less 0.3 for the tip.
  CHECK_THAT(out, Catch::Contains(
                      "adapter-a-carriage-hole-1 (and 3 more): the M3x8 at hand is 1.68 mm too long: it bottoms in the "
                      "thread before it clamps"));
  CHECK_THAT(out, Catch::Contains("take M3x6"));
  // Two more than the longest that clears what lies behind, and no other will do.
  const Run foot = shop.run("check kit.json --set /joints/1/behind/clear_mm=2.2 --set '/joints/1/stock=[16]'");
  CHECK_THAT(unwrapped(foot.out), Catch::Contains("side-foot: the M5x16 at hand is ") &&
                                      Catch::Contains("its tip comes too near to the supply's casing"));
  const Run right = shop.run(R"(check kit.json --set '/stock=[{"thread": "M3", "lengths_mm": [6]}]')");
  CHECK_THAT(right.out, !Catch::Contains("at hand is"));
}
