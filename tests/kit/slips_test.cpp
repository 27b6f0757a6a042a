// Guesses at what a person meant.
#include "kit/slips.h"

#include <catch2/catch.hpp>

using namespace bedwright;

TEST_CASE("edit distance counts changes, insertions, deletions and swaps", "[kit][slips]") {
  // Worked by hand.
  CHECK(edit_distance("", "abc") == 3);
  CHECK(edit_distance("pitch", "pitch") == 0);
  CHECK(edit_distance("pitch", "ptich") == 1);
  CHECK(edit_distance("lenght_mm", "length_mm") == 1);
  CHECK(edit_distance("kitten", "sitting") == 3);
  CHECK(edit_distance("kit", "knit") == 1);
}

TEST_CASE("the nearest word is found, and none if none is near", "[kit][slips]") {
  const std::vector<std::string> keys = {"radius_mm", "crown", "apex_mm", "measured_on"};
  CHECK(nearest("radius", keys) == "radius_mm");
  CHECK(nearest("Radius_MM", keys) == "radius_mm");
  CHECK(nearest("radius_in", keys) == "radius_mm");
  CHECK(nearest("apex", keys) == "apex_mm");
  CHECK(nearest("measured-on", keys) == "measured_on");
  CHECK(nearest("colour", keys).empty());
  CHECK(nearest("", keys).empty());
  CHECK(nearest(std::string(1000, 'x'), keys).empty());
  CHECK(nearest("m4-standart", {"m4-short", "m4-standard"}) == "m4-standard");
}

TEST_CASE("a unit slip is named only if undoing it gives a usual value", "[kit][slips]") {
  CHECK(unit_slip("radius_mm", 2.6, 500, 20000) ==
        "did you mean 2600? radius_mm is in millimetres, 2.6 looks like metres");
  CHECK(unit_slip("mass_g", 0.61, 150, 3000).find("610") != std::string::npos);
  CHECK(unit_slip("clearance_um", 0.005, 1, 50).find("did you mean 5?") == 0);
  CHECK(unit_slip("max_temperature_c", 212, 50, 120).find("did you mean 100?") == 0);
  CHECK(unit_slip("thickness_mm", 5e6, 3, 20).empty());
  CHECK(unit_slip("count", 2, 10, 20).empty());
}

TEST_CASE("the unit is read off the key", "[kit][slips]") {
  CHECK(unit_of("radius_mm") == "mm");
  CHECK(unit_of("taper_um_per_mm") == "um/mm");
  CHECK(unit_of("start_deg") == "deg");
  CHECK(unit_of("max_temperature_c") == "c");
  CHECK(unit_of("mm") == "mm");
  CHECK(unit_of("count").empty());
}
