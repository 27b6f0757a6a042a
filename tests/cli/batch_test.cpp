// bedwright batch from outside: each row is what make would have made, whatever the jobs, shards and interruptions.
#include <algorithm>
#include <catch2/catch.hpp>
#include <map>

#include "base/error.h"
#include "cli/program.h"
#include "visit/visit_text.h"

using namespace bedwright;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

const char* const table =
    "/revision,/frame/dome/radius_mm,/parts/2/quantity\n"
    "A,2600,\n"
    "B,2450,3\n"
    "C,-5,\n"
    "D,2300,\n"
    "\"E\",2200,1\n";

std::map<std::string, std::string> files_in(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    if (entry.is_regular_file()) files[fs::relative(entry.path(), folder).string()] = file_bytes(entry.path());
  return files;
}

std::map<std::string, std::string> sets_in(const fs::path& folder) {
  std::map<std::string, std::string> files = files_in(folder);
  for (auto it = files.begin(); it != files.end();)
    it = it->first.rfind("results", 0) == 0 ? files.erase(it) : std::next(it);
  return files;
}

}  // namespace

TEST_CASE("batch: each row is the set that make makes of it", "[cli][batch]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  shop.put("v.csv", std::string(table));
  const Run run = shop.run("batch v.csv --kit kit.json --out sets --jobs 2");
  CAPTURE(run.err);
  CHECK(run.status == 1);
  CHECK_THAT(run.out, Catch::Contains("4 made") && Catch::Contains("line 4 north-bench-C") &&
                          Catch::Contains("/frame/dome/radius_mm"));
  CHECK_FALSE(fs::exists(shop.path / "sets/north-bench-C"));
  REQUIRE(shop.run("make kit.json --set /revision=B --set /frame/dome/radius_mm=2450 --set /parts/2/quantity=3 --out b")
              .status == 0);
  CHECK(files_in(shop.path / "b") == files_in(shop.path / "sets/north-bench-B"));
  const std::string results = file_bytes(shop.path / "sets/results.csv");
  CHECK_THAT(results, Catch::StartsWith("line,set,result") && Catch::Contains("2,north-bench-A,made") &&
                          Catch::Contains("4,north-bench-C,bad,0"));
  // One thread, the same bytes.
  CHECK(shop.run("batch v.csv --kit kit.json --out alone --jobs 1").status == 1);
  CHECK(files_in(shop.path / "alone") == files_in(shop.path / "sets"));
  const Run document = shop.run("batch v.csv --kit kit.json --out json --json");
  CHECK(json::parse(document.out)["rows"].size() == 5);
  CHECK(json::parse(document.out)["rows"][2]["result"] == "bad");
}

TEST_CASE("batch: a row that is refused says the likely slip", "[cli][batch]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  shop.put("v.csv", std::string("/revision,/frame/dome/radius_mm\nA,2.6\n"));
  const Run run = shop.run("batch v.csv --kit kit.json --out sets");
  CHECK(run.status == 1);
  // Metres: 2.6 m are 2600 mm.
  CHECK_THAT(run.out, Catch::Contains("/frame/dome/radius_mm: 2.6: must be from 300 to 1000000 mm (did you mean 2600?"));
}

TEST_CASE("batch: a folder that is somebody else's is one bad row", "[cli][batch]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  shop.put("v.csv", std::string("/revision\nA\nB\nC\n"));
  fs::create_directories(shop.path / "sets/north-bench-B");
  shop.put("sets/north-bench-B/letter.txt", std::string("dear"));
  const Run run = shop.run("batch v.csv --kit kit.json --out sets");
  CHECK(run.status == 1);
  CHECK_THAT(run.out, Catch::Contains("2 made") && Catch::Contains("line 3 north-bench-B"));
  CHECK(file_bytes(shop.path / "sets/north-bench-B/letter.txt") == "dear");
  CHECK(fs::exists(shop.path / "sets/north-bench-C/report.json"));
}

TEST_CASE("batch: resumed, it makes what is missing or changed and nothing else", "[cli][batch]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  shop.put("v.csv", std::string(table));
  shop.run("batch v.csv --kit kit.json --out sets");
  const auto whole = files_in(shop.path / "sets");
  const auto when = [&](const char* set) { return fs::last_write_time(shop.path / "sets" / set / "report.json"); };
  const auto a = when("north-bench-A"), d = when("north-bench-D"), e = when("north-bench-E");
  fs::remove_all(shop.path / "sets/north-bench-B");                           // never made
  std::ofstream(shop.path / "sets/north-bench-D/stl/riser.stl") << "spoilt";  // damaged
  const Run again = shop.run("batch v.csv --kit kit.json --out sets --resume");
  CHECK_THAT(again.out, Catch::Contains("2 made, 2 there already"));
  CHECK(files_in(shop.path / "sets") == whole);
  CHECK(when("north-bench-A") == a);
  CHECK(when("north-bench-E") == e);
  CHECK(when("north-bench-D") != d);
  // Every file of a set counts, not only its parts.
  for (const char* name : {"report.json", "hardware.csv", "north-bench.3mf", "reuse.json", "SHA256SUMS"}) {
    CAPTURE(name);
    std::ofstream(shop.path / "sets/north-bench-E" / name, std::ios::app) << " ";
    CHECK_THAT(shop.run("batch v.csv --kit kit.json --out sets --resume").out,
               Catch::Contains("1 made, 3 there already"));
    CHECK(files_in(shop.path / "sets") == whole);
  }
  std::string changed = table;
  changed.replace(changed.find("2200"), 4, "2210");
  shop.put("v.csv", changed);
  CHECK_THAT(shop.run("batch v.csv --kit kit.json --out sets --resume").out,
             Catch::Contains("1 made, 3 there already"));
}

TEST_CASE("batch: shards under a job scheduler give what one run gives", "[cli][batch]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  shop.put("v.csv", std::string(table));
  shop.run("batch v.csv --kit kit.json --out whole");
  const std::string command = "cd '" + shop.path.string() + "' && parallel --jobs 2 '" + BEDWRIGHT_PROGRAM +
                              "' batch v.csv --kit kit.json --out parts --jobs 1 --shard {}/3 ::: 1 2 3 > log 2>&1";
  const int raw = std::system(command.c_str());
  REQUIRE(WIFEXITED(raw));
  CHECK(WEXITSTATUS(raw) == 1);  // one shard has the bad row
  CHECK(sets_in(shop.path / "parts") == sets_in(shop.path / "whole"));
  for (const char* name : {"results-1-of-3.csv", "results-2-of-3.csv", "results-3-of-3.csv"})
    CHECK(fs::exists(shop.path / "parts" / name));
  // Line by line the shards' tables are the whole one.
  const std::string results = file_bytes(shop.path / "whole/results.csv");
  for (int k = 1; k <= 3; ++k) {
    std::istringstream lines(file_bytes(shop.path / "parts" / ("results-" + std::to_string(k) + "-of-3.csv")));
    for (std::string line; std::getline(lines, line);) CHECK(results.find(line + "\n") != std::string::npos);
  }
}

TEST_CASE("batch: what would go wrong is said before any work", "[cli][batch]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  const auto says = [&](const std::string& text, const std::string& words, const std::string& more = "") {
    shop.put("v.csv", text);
    const Run run = shop.run("batch v.csv --kit kit.json --out sets " + more);
    CAPTURE(text, run.err);
    CHECK(run.status == 2);
    CHECK_THAT(run.err, Catch::Contains(words));
    CHECK(run.out.empty());
    CHECK_FALSE(fs::exists(shop.path / "sets"));
  };
  says("/revision,/frame/dome/radius_mm\nA,2600\nA,2500\n", "line 2 too");
  says("/frame/dome/radius_mm\n2600\n2500\n", "/kit or /revision");
  says("/revision,/frame/dome/radus_mm\nA,2600\n", "no kit has such a value");
  says("/revision,radius\nA,2600\n", "not a JSON pointer");
  says("/revision,/revision\nA,B\n", "two columns");
  says("/revision\n../A\n", "name the folder");
  says("/revision\n", "no rows");
  says("", "line 1");
  for (const char* shard : {"0/3", "4/3", "x", "1/0", "-1/3", "1/3x"})
    says("/revision\nA\n", "--shard", std::string("--shard=") + shard);
  shop.put("bad.json", std::string("{}"));
  shop.put("v.csv", std::string("/revision\nA\n"));
  CHECK(shop.run("batch v.csv --kit bad.json --out sets").status == 2);
  CHECK(shop.run("batch v.csv --kit absent.json --out sets").status == 3);
  // Semicolons, decimal commas, and a column that leaves the kit as it is.
  shop.put("v.csv", std::string("/revision;/frame/sheet_thickness_mm\nA;2,5\nB;\n"));
  CHECK(shop.run("batch v.csv --kit kit.json --out sets").status == 0);
  CHECK(fs::exists(shop.path / "sets/north-bench-A/report.json"));
  CHECK(json::parse(file_bytes(shop.path / "sets/north-bench-B/report.json"))["input_sha256"] !=
        json::parse(file_bytes(shop.path / "sets/north-bench-A/report.json"))["input_sha256"]);
}

TEST_CASE("batch: a folder of visitors' texts is judged, and bad ones are told", "[cli][batch]") {
  const Workshop shop;
  shop.put("kit.json", demo_kit("shared-bench"));
  shop.put("licence.txt", file_bytes(std::string(BEDWRIGHT_ROOT) + "/params/kits/licence.txt"));
  const auto text = [](const std::vector<Setting>& values) {
    return to_text(VisitText{"shared-bench", "B", "000000000000", values, {}});
  };
  fs::create_directory(shop.path / "texts");
  shop.put("texts/a.txt", text({{"/frame/dome/radius_mm", "2450"}}));
  shop.put("texts/b.txt", text({{"/frame/dome/radius_mm", "2600"}}));
  shop.put("texts/c.txt", "Hello,\n\n> " + text({{"/frame/dome/radius_mm", "700"}}));  // beyond what is open: judged
  shop.put("texts/d.txt", text({{"/frame/dome/radius_mm", "4000"}}).substr(0, 60));
  shop.put("texts/e.txt", text({{"/rails/pitch_mm", "120"}}));
  shop.put("texts/f.txt", to_text(VisitText{"north-bench", "A", "000000000000", {}, {}}));
  shop.put("outside.txt", text({}));
  fs::create_symlink(shop.path / "outside.txt", shop.path / "texts" / "g.txt");
  const Run run = shop.run("batch texts --kit kit.json --out judged --json");
  CHECK(run.status == 1);
  const json told = json::parse(run.out);
  CHECK(told["texts"] == 6);
  CHECK(told["as_published"] == 1);
  CHECK(told["with_help"] == 1);
  CHECK(told["needs_parts"] == 1);
  CHECK(told["bad"] == 3);
  CHECK(told["rows"][2]["fits"] == "needs-parts");
  CHECK(told["rows"][3]["message"].get<std::string>().find("copy it again") != std::string::npos);
  CHECK(told["rows"][4]["message"].get<std::string>().find("is not open") != std::string::npos);
  CHECK(told["rows"][5]["message"].get<std::string>().find("of the kit north-bench") != std::string::npos);
  CHECK(told["measured"][0]["middle"] == 2450);
  CHECK(told["rows"][0]["other_state"] == true);
  const std::string table = file_bytes(shop.path / "judged/visitors.csv");
  CHECK(std::count(table.begin(), table.end(), '\n') == 7);
  CHECK(shop.run("batch texts --kit kit.json --out judged --resume").status == 2);
}
