// Every code of docs/findings.md has a kit that raises it and a neighbour that does not, or, where no kit can raise it
// because a file or a part has to be damaged first, a test that does the damage (by_hand.json says where).
// tests/data/kits/findings/CODE.json: north-bench with `common`, then `raises` or `does_not` set in it; `against`:
// changes that make another kit to try; `severity`: where only that level of it is meant.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <set>
#include <fstream>
#include <sstream>

#include "base/error.h"
#include "checks/bench.h"
#include "checks/keyed_parts.h"
#include "output/page_scene.h"

using namespace bedwright;

namespace {

const std::string root = BEDWRIGHT_ROOT;
const std::string cases = root + "/tests/data/kits/findings/";

std::string text_of(const std::string& path) {
  std::ifstream file(path);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

/// The codes in the first column of the page's tables.
std::vector<std::string> listed_codes() {
  std::istringstream page(text_of(root + "/docs/findings.md"));
  std::vector<std::string> codes;
  for (std::string line; std::getline(page, line);) {
    if (line.rfind("| `", 0) != 0) continue;
    const std::string cell = line.substr(2, line.find(" |", 2) - 2);
    for (std::size_t at = cell.find('`'); at != std::string::npos; at = cell.find('`', at)) {
      const std::size_t end = cell.find('`', at + 1);
      codes.push_back(cell.substr(at + 1, end - at - 1));
      at = end + 1;
    }
  }
  return codes;
}

bool some_test_names(const std::string& code) {
  for (const auto& entry : std::filesystem::recursive_directory_iterator(root + "/tests"))
    if (entry.path().extension() == ".cpp" && text_of(entry.path().string()).find("\"" + code + "\"") != std::string::npos)
      return true;
  return false;
}

std::vector<Change> changes_of(const Json& common, const Json& more) {
  std::vector<Change> changes;
  for (const Json* set : {&common, &more})
    for (const auto& [pointer, value] : set->items()) changes.emplace_back(pointer, value);
  return changes;
}

/// Things of the machine that a place may name, as the page draws them.
std::vector<std::string> things_of(const Kit& kit, const Report& report) {
  std::vector<std::string> things = {"rails", "carriages", "stops", "frame", "bed", "base"};
  for (const Json& body : page_bodies(kit, report)) things.push_back(body.at("name"));
  for (const PartReport& p : report.parts)
    for (const std::string& where : p.part.placements) things.push_back(p.part.id + " at " + where);
  return things;
}

/// Spots on a rail lie on the rail's upper face as the page draws it.
bool lies_on(const Json& bodies, const FindingPlace& place) {
  for (const Json& body : bodies) {
    if (body.at("name") != place.on) continue;
    const Json &low = body.at("outline_mm")[0], &high = body.at("outline_mm")[2];
    const double slack = 1e-6;
    return place.at_mm->x >= low[0].get<double>() - slack && place.at_mm->x <= high[0].get<double>() + slack &&
           place.at_mm->y >= low[1].get<double>() - slack && place.at_mm->y <= high[1].get<double>() + slack &&
           std::fabs(place.at_mm->z - body.at("z_mm")[1].get<double>()) < 1e-6;
  }
  return false;
}

void check_places(const Kit& kit, const Report& report) {
  const std::vector<std::string> things = things_of(kit, report);
  const Json bodies = page_bodies(kit, report);
  for (const Finding& f : report.findings)
    for (const FindingPlace& place : f.places) {
      CAPTURE(f.code, f.message, place.on);
      // What stands in something names it as the check does, which the page need not draw.
      if (f.code != "interference" && !place.on.empty())
        CHECK(std::find(things.begin(), things.end(), place.on) != things.end());
      if (place.on.empty()) CHECK(place.at_mm.has_value());
      if (place.at_mm && (place.on == "left rail" || place.on == "right rail")) CHECK(lies_on(bodies, place));
    }
}

std::vector<Finding> found(const Json& entry, const char* which) {
  const Json common = entry.value("common", Json::object());
  const Kit kit = read_kit(bench_json(changes_of(common, entry.at(which))).dump(), "bench", ".");
  const Layout layout = settle(kit);
  std::vector<MadePart> made;
  std::vector<Finding> failures;
  try {
    for (const Part& part : keyed_parts(kit, layout)) made.push_back(make_part(kit, part));
  } catch (const CannotBuild& e) {
    return {finding_of(e, "")};
  }
  for (std::size_t i = 0; i < made.size(); ++i) compare_made(made, i);
  if (!entry.contains("against")) {
    const Report report = assemble(kit, layout, made, failures);
    check_places(kit, report);
    return report.findings;
  }
  const Kit other = read_kit(bench_json(changes_of(common, entry.at("against"))).dump(), "old", ".");
  const OldSet old{other.revision, keyed_parts(other, settle(other))};
  return assemble(kit, layout, made, failures, &old).findings;
}

/// `severity`: only findings of that level count; empty: all.
bool has(const std::vector<Finding>& findings, const std::string& code, const std::string& severity) {
  return std::any_of(findings.begin(), findings.end(), [&](const Finding& f) {
    return f.code == code && (severity.empty() || to_text(f.severity) == severity);
  });
}

std::string words(const std::vector<Finding>& findings) {
  std::string text;
  for (const Finding& f : findings) text += f.code + ": " + f.message + "\n";
  return text;
}

}  // namespace

TEST_CASE("findings: every code is raised by a kit and not by its neighbour", "[findings]") {
  const Json by_hand = Json::parse(text_of(cases + "by_hand.json"));
  const std::vector<std::string> codes = listed_codes();
  REQUIRE(codes.size() > 50);
  std::set<std::string> nowhere;
  for (const std::string& code : codes) {
    CAPTURE(code);
    if (by_hand.contains(code)) {
      // A guard behind other refusals, which nothing known reaches.
      if (code == "seat-not-refined") continue;
      // The test named there must speak of the code.
      CHECK_THAT(text_of(root + "/" + by_hand.at(code).get<std::string>()), Catch::Contains("\"" + code + "\""));
      continue;
    }
    const std::string text = text_of(cases + code + ".json");
    if (text.empty()) {
      // Other commands' findings, and sets': a test of theirs raises the code.
      INFO("give it a case in tests/data/kits/findings, or a test that raises it");
      CHECK(some_test_names(code));
      continue;
    }
    const Json entry = Json::parse(text);
    const std::string severity = entry.value("severity", std::string());
    try {
      const std::vector<Finding> raised = found(entry, "raises");
      CAPTURE(words(raised));
      CHECK(has(raised, code, severity));
      for (const Finding& f : raised)
        if (f.part.empty() && f.feature.empty() && f.places.empty()) nowhere.insert(f.code);
      const std::vector<Finding> neighbour = found(entry, "does_not");
      CAPTURE(words(neighbour));
      CHECK_FALSE(has(neighbour, code, severity));
    } catch (const std::exception& e) {
      FAIL_CHECK(e.what());
    }
  }
  // About the kit or the set as a whole; everything else leads somebody to a place.
  CHECK(nowhere == std::set<std::string>{"before-missing", "not-cured", "print-first-coupon", "print-first-shims"});
}
