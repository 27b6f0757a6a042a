// bedwright changes from outside: what was changed in a kit is what is named, and nothing else.
#include <catch2/catch.hpp>

#include "cli/program.h"
#include "output/changes.h"

using namespace bedwright;
using nlohmann::json;

namespace {

json changes(const Workshop& shop, const std::string& before, const std::string& after) {
  const Run run = shop.run("changes " + before + " " + after + " --json");
  CAPTURE(before, after, run.err);
  REQUIRE(run.status == 0);
  return json::parse(run.out);
}

const json& part(const json& document, const std::string& id) {
  for (const json& p : document["parts"])
    if (p["id"] == id) return p;
  throw std::runtime_error("no part " + id);
}

json& setting(json& kit, const std::string& id) {
  for (json& p : kit["parts"])
    if (p["id"] == id) return p;
  throw std::runtime_error("no part " + id);
}

int to_print(const json& document) {
  int n = 0;
  for (const json& p : document["parts"]) n += p["reprint"] == true;
  return n;
}

}  // namespace

TEST_CASE("changes: a new letter alone prints nothing again", "[cli][changes]") {
  const Workshop shop;
  json kit = demo_kit("north-bench");
  shop.put("a.json", kit);
  kit["revision"] = "B";
  shop.put("b.json", kit);
  const json found = changes(shop, "a.json", "b.json");
  CHECK(found["format"] == "bedwright/changes/1");
  CHECK(found["new"]["revision"] == "B");
  CHECK(to_print(found) == 0);
  for (const json& p : found["parts"]) {
    CHECK(p["change"] == "same");
    CHECK(p["old_still_fits"] == true);
  }
  CHECK(found["screws"].empty());
  CHECK(found["hardware"].empty());
  const Run text = shop.run("changes a.json b.json");
  CHECK_THAT(text.out, Catch::Contains("Nothing has to be printed again") && Catch::Contains("mark reads differently"));
}

TEST_CASE("changes: another dome changes the plates that lie on it, by as much as their seats say", "[cli][changes]") {
  const Workshop shop;
  json kit = demo_kit("north-bench");
  shop.put("a.json", kit);
  kit["frame"]["dome"]["radius_mm"] = 2300;
  shop.put("b.json", kit);
  const json found = changes(shop, "a.json", "b.json");
  const json& plate = part(found, "adapter-a");
  CHECK(plate["change"] == "changed");
  CHECK(plate["reprint"] == true);
  CHECK(plate["old_still_fits"] == false);
  bool radius = false;
  for (const json& d : plate["dimensions"])
    if (d["quantity"] == "radius") {
      radius = true;
      CHECK(d["difference_mm"] == Approx(2300 - 2600));
    }
  CHECK(radius);
  CHECK(part(found, "shim-rear")["change"] == "same");
  CHECK(part(found, "shim-rear")["reprint"] == false);
}

TEST_CASE("changes: one number of one part", "[cli][changes]") {
  const Workshop shop;
  const json kit = demo_kit("north-bench");
  shop.put("a.json", kit);
  const auto with = [&](const char* name, auto change) {
    json other = kit;
    change(other);
    shop.put(std::string(name) + ".json", other);
    return changes(shop, "a.json", std::string(name) + ".json");
  };
  const json thicker = with("thicker", [](json& k) { setting(k, "shim-rear")["thickness_mm"] = 0.6; });
  CHECK(to_print(thicker) == 1);
  CHECK(part(thicker, "shim-rear")["dimensions"][0]["difference_mm"] == Approx(0.2));
  const json wider = with("wider", [](json& k) { setting(k, "adapter")["boss_diameter_mm"] = 10.4; });
  CHECK(part(wider, "adapter-a")["reprint"] == true);
  // Only the bosses grew round: an old plate still goes together with the new set.
  CHECK(part(wider, "adapter-a")["old_still_fits"] == true);
  const json more = with("more", [](json& k) { setting(k, "shim-rear")["quantity"] = 5; });
  CHECK(part(more, "shim-rear")["change"] == "same");
  CHECK(part(more, "shim-rear")["reprint"] == true);
  const json gone = with("gone", [](json& k) {
    json parts = json::array();
    for (const json& p : k["parts"])
      if (p["id"] != "shim-rear") parts.push_back(p);
    k["parts"] = parts;
  });
  CHECK(part(gone, "shim-rear")["change"] == "removed");
  CHECK(part(gone, "shim-rear")["reprint"] == false);
  const json renamed = with("renamed", [](json& k) { setting(k, "shim-rear")["id"] = "shim-back"; });
  CHECK(part(renamed, "shim-back")["change"] == "same");
  CHECK(part(renamed, "shim-back")["old_id"] == "shim-rear");
  const json stuff = with("stuff", [](json& k) { k["printer"]["material"] = "petg"; });
  CHECK(part(stuff, "shim-rear")["why"] == "asa became petg");
  const json screw = with("screw", [](json& k) { setting(k, "adapter")["thickness_mm"] = 8; });
  CHECK_FALSE(screw["screws"].empty());
  CHECK_FALSE(screw["hardware"].empty());
}

TEST_CASE("changes: what is no report is refused at its format", "[cli][changes]") {
  const json report = {{"format", "bedwright/report/1"}}, other = {{"format", "bedwright/level/1"}};
  CHECK_THROWS_WITH(changes_between(other, "a.json", report, "b.json"),
                    Catch::Contains("a.json: 1 problem") &&
                        Catch::Contains("/format: is not a report of this program (give a kit file, or the report.json that make wrote)"));
}

TEST_CASE("changes: kits, reports and folders are the same to it, anything else is refused", "[cli][changes]") {
  const Workshop shop;
  json kit = demo_kit("north-bench");
  shop.put("a.json", kit);
  REQUIRE(shop.run("make a.json --out old").status == 0);
  setting(kit, "shim-rear")["thickness_mm"] = 0.6;
  shop.put("b.json", kit);
  const json found = changes(shop, "a.json", "b.json");
  CHECK(changes(shop, "old", "b.json") == found);
  CHECK(changes(shop, "old/report.json", "b.json") == found);
  shop.put("list.json", std::string("[1, 2]"));
  CHECK(shop.run("changes list.json b.json").status == 2);
  CHECK(shop.run("changes absent.json b.json").status == 3);
  CHECK(shop.run("changes a.json").status == 2);
  shop.put("short.json", std::string(R"({"format": "bedwright/report/1", "parts": []})"));
  const Run cut = shop.run("changes short.json b.json");
  CHECK(cut.status == 2);
  CHECK_THAT(cut.err, Catch::Contains("/joints"));
}
