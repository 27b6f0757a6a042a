// bedwright check on folders, and its fit envelope, from outside.
#include <catch2/catch.hpp>
#include <set>

#include "cli/program.h"

using namespace bedwright;
using nlohmann::json;
namespace fs = std::filesystem;

TEST_CASE("check: a folder that make wrote is one whole set", "[cli][check]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  Run run = shop.run("check set");
  INFO(run.out << run.err);
  CHECK(run.status == 0);
  CHECK_THAT(run.out, Catch::Contains("One whole set") && Catch::Contains("mating code"));
  run = shop.run("check kit.json --folder set --have adapter-a=2 --have adapter-b=2 --have riser=4 --have shim-rear=2");
  INFO(run.out << run.err);
  CHECK(run.status == 0);
  const json document = json::parse(shop.run("check set --json").out);
  CHECK(document["format"] == "bedwright/set/1");
  CHECK(document["ok"] == true);
  CHECK(document["folders"][0]["parts"].size() == 4);
}

TEST_CASE("check: a folder with a hand missing, two kits mixed, and what is no set", "[cli][check]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  REQUIRE(shop.run("make kit.json --out other --set /parts/0/thickness_mm=7 --set /revision=B").status == 0);
  Run run = shop.run("check set --folder other --json");
  CHECK(run.status == 1);
  json document = json::parse(run.out);
  std::set<std::string> codes;
  for (const json& f : document["findings"]) codes.insert(f["code"]);
  CHECK(codes.count("set-code-differs") == 1);
  CHECK(codes.count("set-revision-mixed") == 1);
  CHECK(shop.run("check kit.json --folder other").status == 1);
  fs::remove(shop.path / "set/stl/adapter-b.stl");
  run = shop.run("check set");
  CHECK(run.status == 1);
  CHECK_THAT(run.out, Catch::Contains("set-hand-missing") && Catch::Contains("right hand"));
  fs::create_directory(shop.path / "empty");
  run = shop.run("check empty");
  CHECK(run.status == 3);
  CHECK_THAT(run.err, Catch::Contains("report.json"));
  shop.put("empty/report.json", std::string("{\"format\":\"bedwright/report/1\",\"kit\":3,\"parts\":[{\"id\":[]}]}"));
  CHECK(shop.run("check empty").status != 0);
  shop.put("empty/report.json", std::string("no report"));
  CHECK(shop.run("check empty").status == 3);
  CHECK(shop.run("check kit.json --have adapter-a=2").status == 2);
  CHECK(shop.run("check set --have adapter-a").status == 2);
}

TEST_CASE("check: a folder with more files than a set has is refused", "[cli][check]") {
  const Workshop shop;
  fs::create_directory(shop.path / "set");
  shop.put("set/report.json", std::string("{ \"format\": \"bedwright/report/1\" }"));
  for (int i = 0; i <= 2000; ++i) shop.put("set/" + std::to_string(i) + ".stl", std::string());
  const Run run = shop.run("check set");
  CHECK(run.status == 3);
  CHECK_THAT(run.err, Catch::Contains("set: holds more STL files than a set has"));
}

TEST_CASE("check: every file of a set counts, not only its parts", "[cli][check]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  const auto spoilt = [&](const char* name, bool remove, const char* words) {
    REQUIRE(shop.run("make kit.json --out set --rebuild").status == 0);
    if (remove)
      fs::remove(shop.path / "set" / name);
    else
      std::ofstream(shop.path / "set" / name, std::ios::app) << " ";
    const Run run = shop.run("check set");
    CAPTURE(name, run.out);
    CHECK(run.status == 1);
    CHECK_THAT(run.out, Catch::Contains("set-file-changed") && Catch::Contains(words));
  };
  spoilt("hardware.csv", false, "hardware.csv is not the file that SHA256SUMS names");
  spoilt("north-bench.3mf", false, "north-bench.3mf is not the file");
  spoilt("report.json", false, "report.json is not the file");
  spoilt("north-bench.3mf", true, "north-bench.3mf is missing");
  spoilt("SHA256SUMS", false, "no list of checksums");
  // A set of old has no list: nothing is held against it.
  REQUIRE(shop.run("make kit.json --out set --rebuild").status == 0);
  fs::remove(shop.path / "set/SHA256SUMS");
  CHECK(shop.run("check set").status == 0);
}

TEST_CASE("check: the fit envelope as a table and as JSON", "[cli][check]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  const Run text = shop.run("check kit.json --envelope");
  CHECK(text.status == 0);
  CHECK_THAT(text.out, Catch::Contains("frame holes, left to right") && Catch::Contains("194.1 to 197.9"));
  const json document = json::parse(shop.run("check kit.json --envelope --json").out);
  CHECK(document["format"] == "bedwright/envelope/1");
  CHECK(document["fit_envelope"].size() == 6);
  const json report = json::parse(shop.run("check kit.json --json").out);
  CHECK(report["fit_envelope"] == document["fit_envelope"]);
}
