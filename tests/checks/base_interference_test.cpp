// What stands up from the machine's base, against everything that moves.
#include <catch2/catch.hpp>

#include "checks/bench.h"

using namespace bedwright;

namespace {

/// Interferences of the demo kit with one raised area from y = 100 to 130, that high above the base's face.
std::vector<Finding> with_area(double x0, double x1, double height_mm) {
  return findings_of(
      {{"/joints", Json::array()},
       {"/base/raised", {{{"id", "rib"}, {"min_mm", {x0, 100}}, {"max_mm", {x1, 130}}, {"height_mm", height_mm}}}}},
      "interference");
}

bool names(const std::vector<Finding>& found, const std::string& first, const std::string& second) {
  return std::any_of(found.begin(), found.end(), [&](const Finding& f) {
    return f.message.find(first) != std::string::npos && f.message.find(second) != std::string::npos;
  });
}

}  // namespace

// The base's face is 12.5 + 13 mm below the carriages' tops. A carriage is 27 wide about x = 75; it ends 34.8 / 2 + 45
// + 107.5 = 169.9 mm to the rear.
TEST_CASE("a raised area that a carriage meets at the end of its travel is found", "[move]") {
  CHECK(with_area(90, 95, 12).empty());
  // Higher than the rail's foot, beside the rail: the carriage's side runs into it.
  const auto found = with_area(85, 95, 14);
  CHECK(names(found, "carriage rear-right", "the base's rib"));
  CHECK_FALSE(names(found, "carriage rear-left", "the base's rib"));
  CHECK_FALSE(names(found, "right rail", "the base's rib"));
  // Out of the carriage's reach.
  CHECK(with_area(89, 95, 14).empty());
}

TEST_CASE("a raised area under a rail, and one that the bosses meet, are found", "[move]") {
  CHECK(names(with_area(70, 80, 14), "right rail", "the base's rib"));
  // Bosses hang 4 mm below the carriages' tops at x = 98: from 21.5 above the face on they meet it.
  CHECK(names(with_area(95, 100, 22.5), "adapter", "the base's rib"));
  CHECK(with_area(95, 100, 21).empty());
}

// Frame holes 30 mm beyond the carriages, over the rails: at the end of the travel a boss of 10 mm is from
// -45 - 107.5 - 35 to -177.5 mm, and hangs to -4, a millimetre above the rail; a stop stands 2 mm above it.
TEST_CASE("a boss that runs into the stop on a rail is found, and none where the rail has no stop", "[move]") {
  const auto with_stops = [](double mm) {
    return findings_of({{"/joints", Json::array()},
                        {"/frame/hole_pattern/pitch_mm", {150, 150}},
                        {"/parts/0/margin_mm", 2},
                        {"/rails/stops_mm", {mm, mm}}},
                       "interference");
  };
  CHECK(with_stops(0).empty());
  const auto found = with_stops(4);
  CHECK(names(found, "adapter", "the front stop of the left rail"));
  CHECK(names(found, "adapter", "the rear stop of the right rail"));
  // Nearer to the rail's end than the boss comes: the boss passes 2.5 mm behind its own middle, to -187.5.
  CHECK_FALSE(names(found, "carriage", "stop"));
}
