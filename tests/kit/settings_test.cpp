// `--set`: what a text becomes at its place.
#include "kit/settings.h"

#include <catch2/catch.hpp>

#include "base/error.h"
#include "kit/corpus.h"
#include "kit/read_kit.h"

using namespace bedwright;

namespace {

const std::string base_text = file_text(root_path("tests/data/kits/good/base.json"));

Kit with(const std::vector<Setting>& settings) {
  return read_kit(base_text, "base", ".", settings);
}

std::vector<Problem> problems_with(const std::vector<Setting>& settings) {
  try {
    with(settings);
  } catch (const BadInput& error) {
    return error.problems;
  }
  return {};
}

}  // namespace

TEST_CASE("a setting changes a number before it is checked", "[kit][set]") {
  CHECK(with({{"/frame/dome/radius_mm", "2500"}}).frame.dome.radius_mm == 2500);
  const auto problems = problems_with({{"/frame/dome/radius_mm", "2.5"}});
  REQUIRE(problems.size() == 1);
  CHECK(problems[0].hint.find("2500") != std::string::npos);
}

TEST_CASE("strings stand as they are, all else is JSON", "[kit][set]") {
  CHECK(with({{"/revision", "2"}}).revision == "2");
  CHECK(with({{"/title", "true"}}).title == "true");
  CHECK(with({{"/title", "[1, 2]"}}).title == "[1, 2]");
  CHECK(with({{"/frame/dome/crown", "down"}}).frame.dome.crown_up == false);
  CHECK(with({{"/parts/0/mark", "false"}}).parts[0].settings.at("mark") == false);
  CHECK(with({{"/frame/hole_pattern/pitch_mm", "[190, 140]"}}).frame.holes[3].at_mm == Vec2{95, 70});
  CHECK(with({{"/frame/hole_pattern/pitch_mm/0", "190"}}).frame.holes[3].at_mm == Vec2{95, 75});
  // A number in quotes is a text, and a text is no number.
  CHECK(problems_with({{"/frame/dome/radius_mm", "\"2500\""}}).size() == 1);
  // Quotes are part of a string.
  CHECK(problems_with({{"/revision", "\"B\""}}).size() == 1);
}

TEST_CASE("a setting makes keys that are missing", "[kit][set]") {
  CHECK(with({{"/printer/compensation/hole_mm", "0.1"}}).printer.compensation.hole_mm == 0.1);
  const Kit kit = with({{"/before/bearing_length_mm", "45"}, {"/before/play_um", "80"}});
  REQUIRE(kit.before);
  CHECK(kit.before->play_um == 80);
  CHECK(with({{"/bed/size_mm/0", "230"}, {"/bed/size_mm/1", "240"}}).bed->size_mm == Vec2{230, 240});
  // Half of a pair is still a problem.
  CHECK(problems_with({{"/bed/size_mm/0", "230"}}).size() == 1);
}

TEST_CASE("a setting reaches into lists and adds to their end", "[kit][set]") {
  CHECK(with({{"/parts/1/thickness_mm", "9"}}).parts[1].settings.at("thickness_mm") == 9);
  const char* part = R"({"id": "extra", "family": "spacer", "thickness_mm": 3, "outer_mm": 10, "hole_mm": 3.2})";
  CHECK(with({{"/parts/3", part}}).parts.size() == 4);
  CHECK(with({{"/parts/-", part}}).parts[3].id == "extra");
  CHECK(with({{"/parts/2", part}}).parts.size() == 3);
}

TEST_CASE("settings act in order", "[kit][set]") {
  CHECK(with({{"/frame/dome/radius_mm", "1"}, {"/frame/dome/radius_mm", "2500"}}).frame.dome.radius_mm == 2500);
  const Kit kit = with({{"/frame/dome", R"({"shape": "two_radius", "crown": "up"})"},
                        {"/frame/dome/radius_x_mm", "3000"},
                        {"/frame/dome/radius_y_mm", "4000"}});
  CHECK(kit.frame.dome.radius_y_mm == 4000);
}

TEST_CASE("a setting that points nowhere says what would be right", "[kit][set]") {
  const auto by_id = problems_with({{"/parts/riser/thickness_mm", "9"}});
  REQUIRE(by_id.size() == 1);
  CHECK(by_id[0].hint == "`riser` is /parts/1");
  const auto beyond = problems_with({{"/parts/7/thickness_mm", "9"}});
  REQUIRE(beyond.size() == 1);
  CHECK(beyond[0].hint.find("0 to 2") != std::string::npos);
  const auto misspelt = problems_with({{"/frame/dome/radius", "2500"}});
  REQUIRE(misspelt.size() == 1);
  CHECK(misspelt[0].hint.find("radius_mm") != std::string::npos);
  const auto inside = problems_with({{"/revision/letter", "B"}});
  REQUIRE(inside.size() == 1);
  CHECK(inside[0].message.find("/revision is a single value") == 0);
  CHECK(problems_with({{"/frame~2dome", "1"}}).size() == 1);
}

TEST_CASE("a value that is not what the place wants is a problem at the place", "[kit][set]") {
  const auto word = problems_with({{"/frame/dome/radius_mm", "large"}});
  REQUIRE(word.size() == 1);
  CHECK(word[0].pointer == "/frame/dome/radius_mm");
  const auto twice = problems_with({{"/frame/dome", R"({"shape": "flat", "shape": "sphere"})"}});
  REQUIRE(twice.size() == 1);
  CHECK(twice[0].pointer == "/frame/dome/shape");
  CHECK(twice[0].message.find("twice") != std::string::npos);
  CHECK(problems_with({{"/frame/dome/radius_mm", "NaN"}}).size() == 1);
  CHECK(problems_with({{"/frame/dome/radius_mm", ""}}).size() == 1);
  CHECK(problems_with({{"/title", "\xff"}}).size() == 1);
}

TEST_CASE("a setting is split at its first equals sign", "[kit][set]") {
  CHECK(parse_setting("/title=a=b") == Setting{"/title", "a=b"});
  CHECK(parse_setting("/title=") == Setting{"/title", ""});
  CHECK_THROWS_AS(parse_setting("title=a"), BadUsage);
  CHECK_THROWS_AS(parse_setting("/title"), BadUsage);
  CHECK_THROWS_AS(parse_setting("=1"), BadUsage);
}
