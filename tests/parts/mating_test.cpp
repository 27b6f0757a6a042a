// The mating code: what mates rely on changes it, nothing else does.
#include "parts/mating.h"

#include <catch2/catch.hpp>
#include <set>

#include "parts/support.h"

using namespace bedwright;
using namespace parts_test;

namespace {

std::string code_of(const std::vector<Setting>& settings, const std::string& family) {
  const Kit kit = demo_kit("north-bench", settings);
  const Layout layout = settle(kit);
  std::set<std::string> codes;
  for (const Part& p : of_family(derive_parts(kit, layout), family)) codes.insert(mating_code(kit, layout, p));
  REQUIRE(codes.size() == 1);  // both hands share theirs
  return *codes.begin();
}

}  // namespace

TEST_CASE("mating code: four characters that cannot be misread", "[mating]") {
  const std::string code = code_of({}, "adapter_plate");
  CHECK(code.size() == 4);
  CHECK(code.find_first_not_of(mating_alphabet) == std::string::npos);
  for (const char c : std::string("0O1I2Z5S8BQG")) CHECK(std::string(mating_alphabet).find(c) == std::string::npos);
}

TEST_CASE("mating code: what does not touch mating keeps it", "[mating]") {
  const std::string code = code_of({}, "adapter_plate");
  for (const Setting& s : std::vector<Setting>{{"/parts/0/corner_radius_mm", "3"},
                                               {"/parts/0/mark", "false"},
                                               {"/parts/0/bottom_chamfer_mm", "0.2"},
                                               {"/title", "another"},
                                               {"/kit", "other-name"},
                                               {"/revision", "B"},
                                               {"/printer/material", "petg"},
                                               {"/printer/layer_mm", "0.15"},
                                               {"/printer/compensation/hole_mm", "0.15"},
                                               {"/tolerance/chord_mm", "0.02"},
                                               {"/parts/1/thickness_mm", "9"},
                                               {"/rails/length_mm", "400"},
                                               {"/bed/mass_g", "700"}}) {
    CAPTURE(s.first, s.second);
    CHECK(code_of({s}, "adapter_plate") == code);
  }
}

TEST_CASE("mating code: what mates rely on changes it", "[mating]") {
  std::set<std::string> codes = {code_of({}, "adapter_plate")};
  std::size_t count = 1;
  for (const Setting& s : std::vector<Setting>{{"/parts/0/thickness_mm", "6.2"},
                                               {"/frame/dome/radius_mm", "2500"},
                                               {"/frame/dome/crown", "down"},
                                               {"/frame/sheet_thickness_mm", "1.5"},
                                               {"/frame/hole_pattern/pitch_mm", "[196.5, 150]"},
                                               {"/frame/hole_pattern/diameter_mm", "5"},
                                               {"/parts/0/slot_mm", "0.5"},
                                               {"/parts/0/slot_axis", "y"},
                                               {"/parts/0/carriage_hole", "coarse"},
                                               {"/parts/0/boss_height_mm", "4.2"},
                                               {"/rails/pitch_mm", "151"},
                                               {"/carriages/spacing_mm", "91"},
                                               {"/carriages/hole_pitch_mm", "[20, 20]"},
                                               {"/carriages/height_mm", "13.1"}}) {
    CAPTURE(s.first, s.second);
    codes.insert(code_of({s}, "adapter_plate"));
    CHECK(codes.size() == ++count);
  }
}

TEST_CASE("mating code: loose parts have their own", "[mating]") {
  const std::string riser = code_of({}, "spacer"), shim = code_of({}, "shim");
  CHECK(code_of({{"/frame/dome/radius_mm", "2500"}}, "spacer") == riser);
  CHECK(code_of({{"/parts/1/outer_mm", "15"}}, "spacer") == riser);
  CHECK(code_of({{"/parts/1/thickness_mm", "8.2"}}, "spacer") != riser);
  CHECK(code_of({{"/parts/1/hole_mm", "5"}}, "spacer") != riser);
  CHECK(code_of({{"/parts/2/thickness_mm", "0.6"}}, "shim") != shim);
}

TEST_CASE("mating codes: both halves of a bracket carry one, and another clearance is another code", "[mating]") {
  const auto codes_of = [](const std::vector<Setting>& settings) {
    const Kit kit = demo_kit("whole-bench", settings);
    const Layout layout = settle(kit);
    std::vector<std::string> codes;
    for (const Part& part : of_family(parts_of(kit), "end_bracket"))
      if (mating_group(part) == "bracket-front") codes.push_back(mating_code(kit, layout, part));
    return codes;
  };
  const std::vector<std::string> codes = codes_of({}), other = codes_of({{"/parts/1/clearance_mm", "0.45"}});
  REQUIRE(codes.size() == 2);
  REQUIRE(other.size() == 2);
  CHECK(codes[0] == codes[1]);
  CHECK(other[0] == other[1]);
  CHECK(codes[0] != other[0]);
  CHECK(codes_of({{"/parts/1/screws/0/note", "tight"}})[0] == codes[0]);
}
