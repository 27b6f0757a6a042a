// `bedwright level` from outside: maps and a kit in, advice, shims, picture and kit out.
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <random>

#include "cli/program.h"

using namespace bedwright;
using Json = nlohmann::json;

namespace {

/// A machine of its own, apart from the program: a rigid bed on four mounts, 176 apart; heights by the corner rule
/// 3/4, 1/4, 1/4, -1/4. The probe reads in the bed's corner frame, 20 ... 220.
struct TiltedMachine {
  double tilt_x = -0.62, tilt_y = 0.25, bow = 0.02, noise = 0.004;
  double shims[4] = {0, 0, 0, 0};
  std::mt19937 random{4};

  double height(double x, double y) const {
    double z = 1.3 + tilt_x * x / 240 + tilt_y * y / 240 + bow * x * x / 14400;
    for (int i = 0; i < 4; ++i) z += shims[i] / 4 * (1 + x / 88 * (i % 2 ? 1 : -1) + y / 88 * (i / 2 ? 1 : -1));
    return z;
  }
  /// Positive is low on this machine, and its map is shown mirrored: x from the right.
  std::string map() {
    std::normal_distribution<double> jitter(0, noise);
    std::ostringstream text;
    text << "x,y,z\n";
    for (int repeat = 0; repeat < 3; ++repeat)
      for (int j = 0; j < 5; ++j)
        for (int i = 0; i < 5; ++i) {
          const double x = 50 * i - 100, y = 50 * j - 100;
          text << 120 - x << "," << 120 + y << "," << -height(x, y) + jitter(random) << "\n";
        }
    return text.str();
  }
};

Json kit_with(const Json& bed_map) {
  Json kit = demo_kit("north-bench");
  kit.erase("bed_map");
  if (!bed_map.is_null()) kit["bed_map"] = bed_map;
  return kit;
}

const Json mirrored_low = {{"positive_is", "low"}, {"mirrored", true}};

}  // namespace

TEST_CASE("level: a tilted machine, a map, shims, and the next map is what was foretold", "[cli][level]") {
  const Workshop shop;
  TiltedMachine machine;
  shop.put("kit.json", kit_with(mirrored_low));
  shop.put("before.csv", machine.map());
  const Run run = shop.run(
      "level before.csv --kit kit.json --json --out shims --map-date 2026-11-25 --picture map.svg --write "
      "--set /printer/layer_mm=0.1 --set /printer/first_layer_mm=0.2");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  const Json result = Json::parse(run.out);
  CHECK(result["format"] == "bedwright/level/1");
  CHECK(result["before"]["range_mm"].get<double>() > 0.6);
  CHECK(result["after"]["range_mm"].get<double>() < 0.1);
  CHECK(result["noise_mm"].get<double>() == Approx(0.004).epsilon(0.4));
  REQUIRE(result["mounts"].size() == 4);
  const char* const ids[] = {"front-left", "front-right", "rear-left", "rear-right"};
  std::size_t printed = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(result["mounts"][i]["id"] == ids[i]);
    machine.shims[i] = result["mounts"][i]["shim_mm"];
    printed += machine.shims[i] > 0;
    CHECK(std::filesystem::exists(shop.path / "shims/stl" / (std::string("shim-") + ids[i] + ".stl")) ==
          (machine.shims[i] > 0));
  }
  // The low corner is the right front one: it is raised most.
  CHECK(machine.shims[1] > machine.shims[0]);
  CHECK(machine.shims[1] > machine.shims[3]);
  CHECK(printed >= 1);
  CHECK(std::filesystem::exists(shop.path / "shims/shims-sheet.stl"));
  const Json report = Json::parse(file_bytes(shop.path / "shims/report.json"));
  CHECK(report["parts"].size() == printed);
  for (const Json& part : report["parts"]) {
    CHECK(part["mesh"]["closed"] == true);
    for (const Json& d : part["dimensions"]) CHECK(d["ok"] == true);
  }
  CHECK(report["steps"].size() == printed);

  // What the kit now says stands under the mounts, and nothing else of it has changed.
  Json kit = Json::parse(file_bytes(shop.path / "kit.json"));
  REQUIRE(kit["bed_map"]["shims"].size() == 4);
  for (std::size_t i = 0; i < 4; ++i) CHECK(kit["bed_map"]["shims"][i]["shim_mm"].get<double>() == machine.shims[i]);
  kit["bed_map"].erase("shims");
  CHECK(kit == kit_with(mirrored_low));

  // The shims as printed are a little off.
  for (double& s : machine.shims)
    if (s > 0) s += 0.01;
  shop.put("first.json", run.out);
  shop.put("after.csv", machine.map());
  const Run next = shop.run("level after.csv --kit kit.json --previous first.json --json");
  CAPTURE(next.err);
  REQUIRE(next.status == 0);
  const Json loop = Json::parse(next.out);
  CHECK(loop["previous"]["as_foretold"] == true);
  CHECK(loop["before"]["range_mm"].get<double>() ==
        Approx(result["after"]["range_mm"].get<double>()).margin(2 * result["after"]["band_mm"].get<double>()));
  for (const Json& mount : loop["mounts"]) CHECK(mount["influence"].get<double>() == Approx(1).margin(0.1));

  // The very same map again: nothing to gain.
  CHECK(loop["leave_it"] == true);
  CHECK(loop["verdict"].get<std::string>().find("leave it") != std::string::npos);
  const std::string svg = file_bytes(shop.path / "map.svg");
  CHECK(svg.find("FRONT") != svg.rfind("FRONT"));
  CHECK(svg.find("class=\"mount\"") != std::string::npos);
}

TEST_CASE("level: the way a map is read is found with known shims and written into the kit", "[cli][level]") {
  const Workshop shop;
  TiltedMachine machine;
  shop.put("kit.json", kit_with(nullptr));
  shop.put("plain.csv", machine.map());
  const Run unknown = shop.run("level plain.csv --kit kit.json");
  CHECK(unknown.status == 2);
  CHECK(unknown.err.find("--known-shim") != std::string::npos);
  CHECK(unknown.out == "");

  machine.shims[0] = 0.4;
  shop.put("left.csv", machine.map());
  machine.shims[0] = 0;
  machine.shims[1] = 0.4;
  shop.put("right.csv", machine.map());
  const Run one = shop.run("level --kit kit.json --known-shim front-left=0.4 --before plain.csv --after left.csv");
  CHECK(one.status == 2);
  CHECK(one.err.find("square") != std::string::npos);
  const Run two = shop.run(
      "level --kit kit.json --known-shim front-left=0.4 --known-shim front-right=0.4 --before plain.csv --after "
      "left.csv "
      "--after right.csv --write --json");
  CAPTURE(two.err);
  REQUIRE(two.status == 0);
  CHECK(Json::parse(two.out)["reading"]["positive_is"] == "low");
  CHECK(Json::parse(two.out)["reading"]["mirrored"] == true);
  const Json kit = Json::parse(file_bytes(shop.path / "kit.json"));
  CHECK(kit["bed_map"] == Json({{"positive_is", "low"}, {"turned_deg", 0}, {"mirrored", true}}));

  // A kit that says otherwise is not overruled in silence.
  shop.put("wrong.json", kit_with({{"positive_is", "high"}}));
  const Run wrong = shop.run(
      "level --kit wrong.json --known-shim front-left=0.4 --known-shim front-right=0.4 --before plain.csv --after "
      "left.csv "
      "--after right.csv");
  CHECK(wrong.status == 2);
  CHECK(wrong.err.find("/bed_map") != std::string::npos);
}

TEST_CASE("level: a grid pasted from a screen, one layer height, whole layers", "[cli][level]") {
  const Workshop shop;
  Json kit = kit_with({{"positive_is", "high"}});
  kit["printer"]["layer_mm"] = kit["printer"]["first_layer_mm"] = 0.11;
  shop.put("kit.json", kit);
  // 0.45 lower at the right edge than at the left one; all over the 240 bed.
  shop.put(
      "screen.txt",
      std::string("Heights:\n 0 | +0.000  -0.225  -0.450\n 1 | +0.000  -0.225  -0.450\n 2 | +0.000  -0.225  -0.450\n"));
  const Run run = shop.run("level screen.txt --kit kit.json --extent 0,0,240,240 --json");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  const Json result = Json::parse(run.out);
  const double expected[] = {0, 0.33, 0, 0.33};
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(result["mounts"][i]["shim_mm"] == expected[i]);
    CHECK(result["mounts"][i]["layers"] == (i % 2 ? 3 : 0));
  }
  CHECK(result["before"]["range_mm"] == 0.45);
  CHECK(result["after"]["range_mm"].get<double>() < 1e-6);
  CHECK(result["split"]["tilt_x_um"]["value"] == -450);

  const Run stock = shop.run("level screen.txt --kit kit.json --extent 0,0,240,240 --stock 0.3,0.05 --json");
  REQUIRE(stock.status == 0);
  CHECK(Json::parse(stock.out)["mounts"][1]["shim_mm"].get<double>() == Approx(0.35).margin(0.051));
  CHECK(shop.run("level screen.txt --kit kit.json --extent 0,0,240,240 --stock 0.3 --out x --map-date 1").status == 2);
}

TEST_CASE("level: shims at carriages, a stated stiffness, a taper where the tilt asks for it", "[cli][level]") {
  const Workshop shop;
  TiltedMachine machine;
  machine.tilt_x = -0.9;
  shop.put("kit.json", kit_with(mirrored_low));
  shop.put("map.csv", machine.map());
  const Run carriages = shop.run(
      "level map.csv --kit kit.json --json --set /bed_map/shim_at=carriages --set /printer/layer_mm=0.1 "
      "--set /printer/first_layer_mm=0.1 --out carriages --map-date 2026-11-25");
  CAPTURE(carriages.err);
  REQUIRE(carriages.status == 0);
  const Json at = Json::parse(carriages.out);
  CHECK(at["shim_at"] == "carriages");
  CHECK(at["mounts"][0]["at_mm"] == Json({-75, -45}));
  const Json report = Json::parse(file_bytes(shop.path / "carriages/report.json"));
  for (const Json& part : report["parts"]) CHECK(part["bbox_mm"][0] == 27);  // the carriage's own outline

  // Four outlines of a carriage, 27 by 34.8, and a bed of 60 by 60.
  const Run crowded = shop.run(
      "level map.csv --kit kit.json --set /bed_map/shim_at=carriages --set /printer/layer_mm=0.1 "
      "--set /printer/first_layer_mm=0.1 --set '/printer/bed_mm=[60,60,60]' --out crowded --map-date 2026-11-25 "
      "--json");
  CHECK(crowded.status == 1);
  CHECK((crowded.out + crowded.err).find("shim-sheet") != std::string::npos);
  CHECK_FALSE(std::filesystem::exists(shop.path / "crowded"));

  const Run either = shop.run("level map.csv --kit kit.json --json --set /bed_map/shim_at=either");
  REQUIRE(either.status == 0);
  const double best = Json::parse(either.out)["after"]["range_mm"];
  for (const char* set : {"bed_mounts", "carriages"}) {
    const Run one = shop.run(std::string("level map.csv --kit kit.json --json --set /bed_map/shim_at=") + set);
    REQUIRE(one.status == 0);
    CHECK(best <= Json::parse(one.out)["after"]["range_mm"].get<double>() + 1.01e-4);
  }

  const Run stated = shop.run(
      "level map.csv --kit kit.json --json --set /bed_map/bed_thickness_mm=3 --set /bed_map/sheet_n_per_mm=100");
  REQUIRE(stated.status == 0);
  CHECK(Json::parse(stated.out)["models"][0]["model"] == "stated");
  CHECK(Json::parse(stated.out)["models"][1]["model"] == "rigid");
  CHECK(shop.run("level map.csv --kit kit.json --set /bed_map/bed_thickness_mm=3").status == 2);

  const Run steep = shop.run(
      "level map.csv --kit kit.json --json --set /printer/layer_mm=0.05 --set /printer/first_layer_mm=0.1 --out steep "
      "--map-date 2026-11-25");
  CAPTURE(steep.err);
  REQUIRE(steep.status == 0);
  bool sloped = false;
  const Json wedges = Json::parse(file_bytes(shop.path / "steep/report.json"));
  for (const Json& part : wedges["parts"])
    for (const Json& d : part["dimensions"]) {
      CHECK(d["ok"] == true);
      // 0.9 over 240 is 3.75 um a mm: 68 um over the 18 mm of the washer's place.
      if (d["quantity"] == "slope_x") {
        sloped = true;
        CHECK(d["nominal_mm"].get<double>() == Approx(0.9 / 240).epsilon(0.1));
      }
    }
  CHECK(sloped);
}

TEST_CASE("level: soft foot, by itself", "[cli][level]") {
  const Workshop shop;
  shop.put("kit.json", kit_with(nullptr));
  shop.put("feet.csv", std::string("mount,gap_mm\nfront-left,0.03\nrear-right,0.12\n"));
  const Run run = shop.run("level --kit kit.json --soft-foot feet.csv --json");
  REQUIRE(run.status == 0);
  const Json feet = Json::parse(run.out)["soft_foot"];
  CHECK(feet[0]["mount"] == "rear-right");
  CHECK(feet[0]["shim"] == "parallel");
  CHECK(feet[1]["shim"] == "none");
}

TEST_CASE("level: what cannot be used is refused in a sentence, and nothing is written", "[cli][level]") {
  const Workshop shop;
  TiltedMachine machine;
  shop.put("kit.json", kit_with(mirrored_low));
  shop.put("map.csv", machine.map());
  shop.put("bad.csv", std::string("x,y,z\n0,0,0\n0,1,high\n"));
  shop.put("line.csv", std::string("0,0,0\n10,10,0\n20,20,0\n"));
  shop.put("other.csv", std::string("0,0,0\n100,0,0\n0,100,0\n100,100,0\n"));
  shop.put("junk.json", std::string("{}"));
  const std::pair<const char*, const char*> cases[] = {
      {"level bad.csv --kit kit.json", "line 3"},
      {"level line.csv --kit kit.json", "in one line"},
      {"level map.csv other.csv --kit kit.json", "not those of"},
      {"level map.csv --kit kit.json --out x", "--map-date"},
      {"level map.csv --kit kit.json --out x --map-date 'a b'", "--map-date"},
      {"level map.csv --kit kit.json --previous junk.json", "no result of"},
      {"level map.csv --kit kit.json --stock 0.1,x", "--stock"},
      {"level map.csv --kit kit.json --most-shim 0.05", "thinner"},
      {"level map.csv --kit kit.json --extent 1,2,3", "4 numbers"},
      {"level --kit kit.json", "give a map"},
      {"level --kit kit.json --known-shim middle=0.4 --before map.csv --after map.csv", "no mount"},
      {"level --kit kit.json --known-shim front-left --before map.csv --after map.csv", "MOUNT=MM"},
      {"level --kit kit.json --known-shim front-left=0.4 --before map.csv", "--after"},
      {"level --kit kit.json --known-shim front-left=0.4 --before map.csv --after map.csv", "cannot be read safely"}};
  for (const auto& [arguments, sentence] : cases) {
    CAPTURE(arguments);
    const Run run = shop.run(arguments);
    CAPTURE(run.err);
    CHECK(run.status == 2);
    CHECK(run.err.find(sentence) != std::string::npos);
    CHECK(run.out == "");
  }
  CHECK(shop.run("level none.csv --kit kit.json").status == 3);
  CHECK_FALSE(std::filesystem::exists(shop.path / "x"));
}

TEST_CASE("level: without a map on the command line the kit's own are read, to the same answer", "[cli][level]") {
  const Workshop shop;
  TiltedMachine machine;
  shop.put("map.csv", machine.map());
  Json own = mirrored_low;
  own["files"] = {"map.csv"};
  own["on"] = "2026-11-25";
  shop.put("plain.json", kit_with(mirrored_low));
  shop.put("own.json", kit_with(own));
  const Run given = shop.run("level map.csv --kit plain.json --json --map-date 2026-11-25"),
            kept = shop.run("level --kit own.json --json");
  CHECK(given.status == 0);
  CHECK(kept.status == 0);
  CHECK(kept.out == given.out);
  const Run none = shop.run("level --kit plain.json");
  CHECK(none.status == 2);
  CHECK_THAT(none.err, Catch::Contains("bed_map.files"));
  shop.put("map.csv", std::string("x,y,z\n0,0,one\n"));
  const Run bad = shop.run("make own.json --out set");
  CHECK(bad.status == 2);
  CHECK_THAT(bad.err, Catch::Contains("map.csv"));
  CHECK_FALSE(std::filesystem::exists(shop.path / "set"));
}
