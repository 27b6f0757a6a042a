// bedwright make and check from outside.
#include <catch2/catch.hpp>
#include <map>
#include <set>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validation_results.hpp>
#include <valijson/validator.hpp>

#include "base/sha256.h"
#include "cli/program.h"

using namespace bedwright;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

/// Every file below a folder with its bytes.
std::map<std::string, std::string> snapshot(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& e : fs::recursive_directory_iterator(folder))
    if (e.is_regular_file()) files[e.path().lexically_relative(folder).string()] = file_bytes(e.path());
  return files;
}

json thin_shim_kit() {
  json kit = demo_kit("north-bench");
  kit["parts"][2]["thickness_mm"] = 0.15;
  return kit;
}

std::string schema_faults(const json& report) {
  const json document = json::parse(file_bytes(std::string(BEDWRIGHT_ROOT) + "/docs/report.schema.json"));
  valijson::Schema schema;
  valijson::SchemaParser(valijson::SchemaParser::kDraft7)
      .populateSchema(valijson::adapters::NlohmannJsonAdapter(document), schema);
  valijson::ValidationResults results;
  valijson::Validator validator;
  if (validator.validate(schema, valijson::adapters::NlohmannJsonAdapter(report), &results)) return "";
  std::string text = "refused";
  valijson::ValidationResults::Error error;
  while (results.popError(error)) {
    text += "\n";
    for (const std::string& step : error.context) text += step;
    text += ": " + error.description;
  }
  return text;
}

}  // namespace

TEST_CASE("make: the demo kits make whole sets", "[cli][make]") {
  const std::string name =
      GENERATE("north-bench", "tall-bench", "flat-bench", "south-bench", "every-option", "bench-gauges");
  CAPTURE(name);
  Workshop shop;
  shop.put("kit.json", demo_kit(name));
  const Run run = shop.run("make kit.json");
  INFO(run.out << run.err);
  REQUIRE(run.status == 0);
  CHECK(run.err.empty());
  const json kit = demo_kit(name);
  const fs::path set = shop.path / "out" / (kit["kit"].get<std::string>() + "-" + kit["revision"].get<std::string>());
  const json report = json::parse(file_bytes(set / "report.json"));
  CHECK(schema_faults(report) == "");
  std::set<std::string> expected = {"report.json", "hardware.csv"};
  for (const json& part : report["parts"]) {
    CAPTURE(part["id"]);
    const std::string bytes = file_bytes(set / part["file"].get<std::string>());
    CHECK(sha256(bytes) == part["sha256"]);
    CHECK(bytes.size() == part["bytes"]);
    CHECK(bytes.size() == 84 + 50 * part["triangles"].get<std::size_t>());
    CHECK(bytes.compare(0, 10, "bedwright ") == 0);
    CHECK(part["mesh"]["closed"] == true);
    CHECK(part["mesh"]["oriented"] == true);
    CHECK_FALSE(part["dimensions"].empty());
    for (const json& d : part["dimensions"]) CHECK(d["ok"] == true);
    expected.insert(part["file"].get<std::string>());
  }
  std::set<std::string> listed;
  for (const json& file : report["files"]) listed.insert(file.get<std::string>());
  std::set<std::string> found;
  for (const auto& entry : snapshot(set)) found.insert(entry.first);
  CHECK(found == listed);
  CHECK(std::includes(found.begin(), found.end(), expected.begin(), expected.end()));
  CHECK_THAT(run.out, Catch::Contains("Local codes and licensed people decide."));
}

TEST_CASE("make: the report's schema refuses a report with a part missing its file", "[cli][make]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  json report = json::parse(shop.run("check kit.json --json").out);
  REQUIRE(schema_faults(report) == "");
  report["parts"][0].erase("sha256");
  CHECK(schema_faults(report) != "");
}

TEST_CASE("make: json prints the document that stands in report.json", "[cli][make]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  const Run run = shop.run("make kit.json --json --out set");
  CHECK(run.status == 0);
  CHECK(run.out == file_bytes(shop.path / "set/report.json"));
}

TEST_CASE("make: the same bytes again, and from one job", "[cli][make]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out one --jobs 1").status == 0);
  REQUIRE(shop.run("make kit.json --out four --jobs 4 --rebuild").status == 0);
  CHECK(snapshot(shop.path / "one") == snapshot(shop.path / "four"));
  REQUIRE(shop.run("make kit.json --out one").status == 0);
  CHECK(snapshot(shop.path / "one") == snapshot(shop.path / "four"));
}

TEST_CASE("make: findings at error level leave the old set untouched", "[cli][make]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  shop.put("bad.json", thin_shim_kit());
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  const auto before = snapshot(shop.path);
  const Run run = shop.run("make bad.json --out set");
  CHECK(run.status == 1);
  CHECK(snapshot(shop.path) == before);
  CHECK_THAT(run.out, Catch::Contains("thin-shim"));
  CHECK_THAT(run.err, Catch::Contains("Nothing was written"));
  const Run as_json = shop.run("make bad.json --out set --json");
  CHECK(as_json.status == 1);
  CHECK(json::parse(as_json.out)["findings"][0]["severity"] == "error");
  CHECK(snapshot(shop.path) == before);
}

TEST_CASE("make: force writes the files and still exits with 1", "[cli][make]") {
  Workshop shop;
  shop.put("bad.json", thin_shim_kit());
  CHECK(shop.run("make bad.json --out set --force").status == 1);
  CHECK(fs::exists(shop.path / "set/stl/shim-rear.stl"));
  CHECK_FALSE(fs::exists(shop.path / "out"));
}

TEST_CASE("make: bad input is exit 2 and writes nothing", "[cli][make]") {
  Workshop shop;
  json kit = demo_kit("north-bench");
  kit["frame"]["dome"]["radius_mm"] = 2.6;
  kit["parts"][0]["thicknes_mm"] = 6;
  shop.put("bad.json", kit);
  const Run run = shop.run("make bad.json");
  CHECK(run.status == 2);
  CHECK(run.out.empty());
  CHECK_THAT(run.err, Catch::Contains("/frame/dome/radius_mm") && Catch::Contains("/parts/0/thicknes_mm"));
  CHECK_FALSE(fs::exists(shop.path / "out"));
  const Run as_json = shop.run("make bad.json --json");
  CHECK(as_json.status == 2);
  const json error = json::parse(as_json.out)["error"];
  CHECK(error["exit"] == 2);
  CHECK(error["problems"].size() == 2);
}

TEST_CASE("make: a kit that is not there is exit 3", "[cli][make]") {
  Workshop shop;
  const Run run = shop.run("make none.json --json");
  CHECK(run.status == 3);
  CHECK(json::parse(run.out)["error"]["exit"] == 3);
  CHECK_THAT(run.err, Catch::Contains("none.json"));
}

TEST_CASE("make: a folder with a foreign file is exit 3 and stays", "[cli][make]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  shop.put("set/notes.txt", std::string("mine"));
  const auto before = snapshot(shop.path);
  const Run run = shop.run("make kit.json --out set --set /revision=B");
  CHECK(run.status == 3);
  CHECK_THAT(run.err, Catch::Contains("notes.txt"));
  CHECK(snapshot(shop.path) == before);
}

TEST_CASE("make: set changes a value before checking", "[cli][make]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  const Run run = shop.run("make kit.json --out set --set /frame/dome/radius_mm=2500 --set /revision=7 --json");
  INFO(run.err);
  REQUIRE(run.status == 0);
  const json report = json::parse(run.out);
  CHECK(report["revision"] == "7");
  double radius = 0;
  for (const json& d : report["parts"][0]["dimensions"])
    if (d["quantity"] == "radius") radius = d["measured_mm"];
  CHECK(radius == Approx(2500).margin(0.5));
  CHECK(shop.run("make kit.json --set /frame/dome/radius_mm").status == 2);
  CHECK(shop.run("make kit.json --set /no/such/key=1").status == 2);
  CHECK(shop.run("make kit.json --set /frame/dome/radius_mm=").status == 2);
}

TEST_CASE("make: only one part into a new folder", "[cli][make]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  CHECK(shop.run("make kit.json --out all").status == 0);
  CHECK(shop.run("make kit.json --out one --only riser").status == 0);
  CHECK(file_bytes(shop.path / "one/stl/riser.stl") == file_bytes(shop.path / "all/stl/riser.stl"));
  CHECK_FALSE(fs::exists(shop.path / "one/stl/adapter-a.stl"));
  const Run unknown = shop.run("make kit.json --out two --only rizer");
  CHECK(unknown.status == 2);
  CHECK_THAT(unknown.err, Catch::Contains("riser"));
}

TEST_CASE("make: only one part into a set keeps the others", "[cli][make]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  REQUIRE(shop.run("make kit.json --out set").status == 0);
  const std::string plate = file_bytes(shop.path / "set/stl/adapter-a.stl");
  CHECK(shop.run("make kit.json --out set --only riser --set /parts/1/thickness_mm=9").status == 0);
  CHECK(file_bytes(shop.path / "set/stl/adapter-a.stl") == plate);
  const json report = json::parse(file_bytes(shop.path / "set/report.json"));
  CHECK(report["parts"].size() == 4);
  for (const json& part : report["parts"])
    CHECK(sha256(file_bytes(shop.path / "set" / part["file"].get<std::string>())) == part["sha256"]);
  const auto before = snapshot(shop.path / "set");
  CHECK(shop.run("make kit.json --out set --only riser --set /parts/0/thickness_mm=7").status == 2);
  CHECK(snapshot(shop.path / "set") == before);
}

TEST_CASE("check: says the same as make and writes nothing", "[cli][check]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  shop.put("bad.json", thin_shim_kit());
  const auto before = snapshot(shop.path);
  const Run run = shop.run("check kit.json --json");
  CHECK(run.status == 0);
  CHECK(shop.run("check bad.json").status == 1);
  CHECK(snapshot(shop.path) == before);
  CHECK(shop.run("make kit.json --json").out == run.out);
}

TEST_CASE("make: any one number of the demo kit changed by 5 percent still makes", "[cli][make][slow]") {
  const json kit = json::parse(R"({
    "format": "bedwright/kit/1", "kit": "north-bench", "revision": "A", "title": "north",
    "tolerance": { "chord_mm": 0.01, "general": "m" },
    "frame": { "sheet_thickness_mm": 2.0, "mass_g": 610, "material": "steel",
      "dome": { "shape": "sphere", "radius_mm": 2600, "crown": "up", "apex_mm": [0, 0], "measured_on": "underside" },
      "hole_pattern": { "kind": "rectangular", "pitch_mm": [196, 150], "centre_mm": [0, 0], "diameter_mm": 4.5 },
      "bed_mounts":   { "kind": "rectangular", "pitch_mm": [176, 176], "diameter_mm": 4.5 } },
    "rails":     { "size": "mini-12", "pitch_mm": 150, "length_mm": 370, "travel_mm": 215, "end_margin_mm": 4 },
    "carriages": { "size": "mini-12-short", "spacing_mm": 90, "clearance_um": 5 },
    "before":    { "bearing_length_mm": 45, "play_um": 80, "bed_height_mm": 62, "moving_mass_g": 1650 },
    "bed":       { "size_mm": [240, 240], "mass_g": 780, "material": "aluminium", "max_temperature_c": 90 },
    "printer":   { "bed_mm": [220, 220, 240], "layer_mm": 0.2, "first_layer_mm": 0.2, "line_mm": 0.45, "material": "asa",
                   "compensation": { "hole_mm": 0.0, "outline_mm": 0.0, "height_mm": 0.0 } },
    "parts": [
      { "id": "adapter", "family": "adapter_plate", "thickness_mm": 6, "boss_side": "down", "boss_diameter_mm": 10,
        "boss_height_mm": 4, "carriage_screw": "M3", "carriage_hole": "medium", "frame_screw": "M4", "insert": "m4-standard",
        "slot_mm": 1.0, "margin_mm": 4, "corner_radius_mm": 5, "mark": true },
      { "id": "riser", "family": "spacer", "quantity": 4, "thickness_mm": 8, "outer_mm": 14, "hole_mm": 4.5 },
      { "id": "shim-rear", "family": "shim", "quantity": 2, "thickness_mm": 0.4, "outline": "horseshoe", "outer_mm": 14, "hole_mm": 4.5 }
    ] })");
  Workshop shop;
  shop.put("kit.json", kit);
  REQUIRE(shop.run("check kit.json").status == 0);
  int changed = 0;
  const json values = kit.flatten();
  for (const auto& [pointer, value] : values.items()) {
    // A count is whole: 5 % of it is none.
    if (!value.is_number() || value == 0 || pointer.find("quantity") != std::string::npos) continue;
    for (double factor : {0.95, 1.05}) {
      CAPTURE(pointer, factor);
      const double number = value.get<double>() * factor;
      const Run run = shop.run("check kit.json --set " + pointer + "=" + std::to_string(number));
      INFO(run.out.substr(0, 4000) << run.err);
      CHECK(run.status == 0);
      ++changed;
    }
  }
  CHECK(changed > 70);
}
