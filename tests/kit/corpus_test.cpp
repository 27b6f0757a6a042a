// Every bad kit is refused with exactly the problems that its expectation lists; every good kit is read.
#include "kit/corpus.h"

#include <catch2/catch.hpp>

#include "base/error.h"
#include "kit/read_kit.h"

using namespace bedwright;

namespace {

std::vector<Problem> problems_of(const std::string& path) {
  try {
    read_kit_file(path);
  } catch (const BadInput& error) {
    return error.problems;
  }
  return {};
}

}  // namespace

TEST_CASE("every bad kit is refused, each problem with its pointer and words", "[kit][corpus]") {
  const auto files = kit_files("tests/data/kits/bad");
  const Json expectations = Json::parse(file_text(root_path("tests/data/kits/bad/expectations.json")));
  REQUIRE(files.size() >= 60);
  REQUIRE(files.size() == expectations.size());
  for (const std::string& file : files) {
    DYNAMIC_SECTION(stem(file)) {
      REQUIRE(expectations.contains(stem(file)));
      const Json& expected = expectations[stem(file)]["problems"];
      REQUIRE_FALSE(expected.empty());
      const std::vector<Problem> problems = problems_of(file);
      std::string told;
      for (const Problem& problem : problems) told += to_text(problem) + "\n";
      INFO(told);
      for (const Json& each : expected) {
        const std::string pointer = each.at("pointer").get<std::string>();
        CAPTURE(pointer);
        const auto found =
            std::find_if(problems.begin(), problems.end(), [&](const Problem& p) { return p.pointer == pointer; });
        REQUIRE(found != problems.end());
        REQUIRE_FALSE(each.at("words").empty());
        for (const Json& words : each.at("words")) {
          CAPTURE(words);
          CHECK(to_text(*found).find(words.get<std::string>()) != std::string::npos);
        }
      }
      // No slip is told twice, and none drags others along.
      CHECK(problems.size() == expected.size());
    }
  }
}

TEST_CASE("every good kit is read", "[kit][corpus]") {
  const auto files = good_kit_files();
  REQUIRE(files.size() >= 15);
  for (const std::string& file : files) {
    DYNAMIC_SECTION(stem(file)) {
      const Kit kit = read_kit_file(file);
      CHECK_FALSE(kit.name.empty());
      CHECK_FALSE(kit.parts.empty());
      CHECK(kit.input_sha256.size() == 64);
    }
  }
}

TEST_CASE("the demo kits are there and named like their files", "[kit][corpus]") {
  for (const char* name :
       {"north-bench", "tall-bench", "flat-bench", "south-bench", "every-option", "every-option-down", "twist-bench"}) {
    CAPTURE(name);
    CHECK(read_kit_file(root_path(std::string("params/kits/") + name + ".json")).name == name);
  }
}

TEST_CASE("the demo kit stays good with any one number changed by 5 percent", "[kit][corpus]") {
  const std::string path = root_path("params/kits/north-bench.json");
  const Json document = Json::parse(file_text(path));
  const Json values = document.flatten();
  int changed = 0;
  for (const auto& [pointer, value] : values.items()) {
    // A count cannot change by 5 percent.
    if (!value.is_number() || pointer.find("quantity") != std::string::npos) continue;
    for (const double factor : {0.95, 1.05}) {
      CAPTURE(pointer, factor);
      Json other = document;
      other[Json::json_pointer(pointer)] = value.get<double>() * factor;
      CHECK_NOTHROW(read_kit(other.dump(), "changed", "."));
      ++changed;
    }
  }
  CHECK(changed >= 90);
}

TEST_CASE("the printer profiles fit a kit", "[kit][corpus]") {
  const auto files = kit_files("params/printers");
  REQUIRE_FALSE(files.empty());
  for (const std::string& file : files) {
    DYNAMIC_SECTION(stem(file)) {
      Json document = Json::parse(file_text(root_path("params/kits/north-bench.json")));
      document["printer"] = Json::parse(file_text(file));
      CHECK_NOTHROW(read_kit(document.dump(), file, "."));
    }
  }
}
