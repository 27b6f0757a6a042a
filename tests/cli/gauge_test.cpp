// bedwright gauge and layout from outside, and what all commands share.
#include <catch2/catch.hpp>

#include "cli/program.h"

using namespace bedwright;
using nlohmann::json;
namespace fs = std::filesystem;

TEST_CASE("gauge: a written part is itself, another is not", "[cli][gauge]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  const Run good = shop.run("gauge set/stl/adapter-a.stl --kit kit.json --part adapter-a --json");
  CHECK(good.status == 0);
  const json document = json::parse(good.out);
  CHECK(document["format"] == "bedwright/gauge/1");
  CHECK(document["match"]["ok"] == true);
  CHECK(document["match"]["mistakes"].empty());
  CHECK_FALSE(document["dimensions"].empty());
  const Run wrong = shop.run("gauge set/stl/riser.stl --kit kit.json --part adapter-a --json");
  CHECK(wrong.status == 1);
  CHECK(json::parse(wrong.out)["match"]["ok"] == false);
  CHECK(shop.run("gauge set/stl/riser.stl --kit kit.json --part adapter-a").status == 1);
  // A bed of many parts: the one that is asked for, or what there is instead.
  CHECK(shop.run("gauge set/north-bench.3mf --kit kit.json --part riser").status == 0);
  const Run none = shop.run("gauge set/north-bench.3mf --kit kit.json --part rise");
  CHECK(none.status == 2);
  CHECK(none.err.find("--part rise: the file holds ") != std::string::npos);
  CHECK(none.err.find("and none of that name; it holds adapter-a, ") != std::string::npos);
}

TEST_CASE("gauge: alone it measures and matches nothing", "[cli][gauge]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set --only riser").status == 0);
  const Run run = shop.run("gauge set/stl/riser.stl --json");
  CHECK(run.status == 0);
  const json document = json::parse(run.out);
  CHECK_FALSE(document.contains("match"));
  CHECK(document["mesh"]["closed"] == true);
  // riser: outer 14, thickness 8.
  CHECK(document["bbox_mm"][2] == Approx(8).margin(1e-4));
  CHECK_FALSE(shop.run("gauge set/stl/riser.stl").out.empty());
}

TEST_CASE("gauge: a file that is no solid is exit 1 even without a part to hold it against", "[cli][gauge]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set --only riser").status == 0);
  std::string bytes = file_bytes(shop.path / "set/stl/riser.stl");
  // One facet fewer: 50 bytes, and the count at byte 80 (binary STL).
  bytes.resize(bytes.size() - 50);
  bytes[80] = static_cast<char>(static_cast<unsigned char>(bytes[80]) - 1);
  shop.put("open.stl", bytes);
  const Run run = shop.run("gauge open.stl");
  CHECK(run.status == 1);
  CHECK(run.out.find("closed no") != std::string::npos);
}

TEST_CASE("gauge: bad usage and bad files", "[cli][gauge]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  shop.put("junk.stl", std::string("this is no mesh"));
  CHECK(shop.run("gauge none.stl").status == 3);
  CHECK(shop.run("gauge junk.stl").status == 2);
  CHECK(shop.run("gauge junk.stl --kit kit.json").status == 2);
  CHECK(shop.run("gauge junk.stl --part adapter-a").status == 2);
}

TEST_CASE("layout: placements in their order, travel and rocking", "[cli][layout]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  const Run run = shop.run("layout kit.json --json");
  REQUIRE(run.status == 0);
  const json layout = json::parse(run.out);
  CHECK(layout["format"] == "bedwright/layout/1");
  CHECK(layout["placements"][0]["id"] == "front-left");
  CHECK(layout["placements"][0]["at_mm"] == json({-75.0, -45.0, 0.0}));
  CHECK(layout["placements"][3]["at_mm"] == json({75.0, 45.0, 0.0}));
  // clearance 5 um x (240 / 2) / 90, and / 150; before: 80 um x 120 / 45.
  CHECK(layout["rocking"]["after_um"] == Approx(6.66667));
  CHECK(layout["rocking"]["after_across_um"] == Approx(4));
  CHECK(layout["rocking"]["before_um"] == Approx(213.333));
  CHECK(layout["distinct_parts"][0]["quantity"] == 2);
  CHECK_FALSE(shop.run("layout kit.json").out.empty());
}

TEST_CASE("program: version, help and usage errors", "[cli]") {
  Workshop shop;
  CHECK_THAT(shop.run("--version").out, Catch::StartsWith("bedwright "));
  CHECK(shop.run("--help").status == 0);
  for (const char* command : {"start", "make", "check", "gauge", "layout", "survey"}) {
    CAPTURE(command);
    const Run help = shop.run(std::string(command) + " --help");
    CHECK(help.status == 0);
    CHECK_THAT(help.out, Catch::Contains("--json"));
    CHECK_THAT(shop.run("--help").out, Catch::Contains(command));
  }
  for (const char* arguments : {"", "mke", "make", "make a.json b.json", "make a.json --jobs 0", "make a.json --jobs x",
                                "make a.json --fast"}) {
    CAPTURE(arguments);
    const Run run = shop.run(arguments);
    CHECK(run.status == 2);
    CHECK_FALSE(run.err.empty());
    CHECK(run.out.empty());
  }
  CHECK(json::parse(shop.run("make --json").out)["error"]["exit"] == 2);
}

TEST_CASE("program: a reader that stops reading does not break the run", "[cli]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  const std::string command = "cd '" + shop.path.string() + "' && { '" + BEDWRIGHT_PROGRAM +
                              "' make kit.json --json --out set; echo $? > status; } | true";
  CHECK(std::system(command.c_str()) == 0);
  CHECK(file_bytes(shop.path / "status") == "0\n");
  CHECK(fs::exists(shop.path / "set/report.json"));
}

TEST_CASE("program: a closed standard output does not spoil a file", "[cli]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  CHECK(shop.run("make kit.json --out open").status == 0);
  CHECK(shop.run("make kit.json --out closed", ">&-").status == 0);
  CHECK(file_bytes(shop.path / "open/report.json") == file_bytes(shop.path / "closed/report.json"));
}

TEST_CASE("program: a full disk under the results is exit 3", "[cli]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  CHECK(shop.run("check kit.json", "> /dev/full").status == 3);
}
