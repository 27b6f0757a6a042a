// Bed maps as people have them. Expected values: arithmetic on the text itself.
#include "survey/bed_map.h"

#include <catch2/catch.hpp>

#include "base/error.h"

using namespace bedwright;

namespace {

const GridExtent square{{0, 0}, {200, 100}};

std::string complaint(const std::string& text, const std::optional<GridExtent>& extent = std::nullopt) {
  try {
    read_bed_map(text, "map.txt", extent);
  } catch (const BadInput& error) {
    return to_text(error.problems.at(0));
  }
  return "";
}

}  // namespace

TEST_CASE("points in any row order, with a header in any order of columns", "[level][bed_map]") {
  const BedMap map = read_bed_map("z_mm;y;x\n0,25;10;0\n-0,5;0;20\n0,1;0;0\n0,2;10;20\n", "a.csv", std::nullopt);
  REQUIRE(map.at.size() == 4);
  REQUIRE(map.repeats.size() == 1);
  CHECK(map.at[1] == Vec2{20, 0});
  CHECK(map.repeats[0] == std::vector<double>{0.1, -0.5, 0.25, 0.2});
}

TEST_CASE("a point that comes again is a repeat", "[level][bed_map]") {
  const BedMap map = read_bed_map("0,0,1\n10,0,2\n0,10,3\n\n# again\n0,10,3.5\n0,0,1.5\n10,0,2.5\n", "a", std::nullopt);
  REQUIRE(map.repeats.size() == 2);
  CHECK(map.repeats[1] == std::vector<double>{1.5, 2.5, 3.5});
  CHECK(complaint("0,0,1\n10,0,2\n0,10,3\n0,0,1\n").find("line 2") != std::string::npos);
}

TEST_CASE("the same grid in many dresses", "[level][bed_map]") {
  const char* const dresses[] = {"0.10,0.20,-0.30\n0.40,0.50,0.60\n",
                                 "  [[ 0.10, 0.20, -0.30],\n   [ 0.40, 0.50, 0.60]]\n",
                                 "Bed heights:\n\t+0.10\t+0.20\t\xe2\x88\x92"
                                 "0.30\n\t+0.40\t+0.50\t+0.60\n",
                                 "      0      1      2\n 0 | +0.10 +0.20 -0.30\n 1 | +0.40 +0.50 +0.60\n",
                                 "      0      1      2\n 0   +0.10 +0.20 -0.30\n 1   +0.40 +0.50 +0.60\n",
                                 "Row 0: 0.10 0.20 -0.30\r\nRow 1: 0.40 0.50 0.60\r\n",
                                 "A 0,10 0,20 -0,30\nB 0,40 0,50 0,60\n",
                                 "| 0.10 | 0.20 | -0.30 |\n| 0.40 | 0.50 | 0.60 |\n",
                                 "1 0.10 0.20 -0.30\n0 0.40 0.50 0.60\n",
                                 "\xEF\xBB\xBF# warm\n0.10;0.20;-0.30\n0.40;0.50;0.60\n"};
  for (const char* dress : dresses) {
    CAPTURE(dress);
    const BedMap map = read_bed_map(dress, "grid", square);
    REQUIRE(map.at.size() == 6);
    REQUIRE(map.repeats.size() == 1);
    CHECK(map.repeats[0] == std::vector<double>{0.1, 0.2, -0.3, 0.4, 0.5, 0.6});
    CHECK(map.at[0] == Vec2{0, 0});
    CHECK(map.at[5] == Vec2{200, 100});
    CHECK(map.at[1] == Vec2{100, 0});
  }
}

TEST_CASE("blocks of a grid are repeats, the extent says where the first number stands", "[level][bed_map]") {
  const BedMap map = read_bed_map("first\n1 2\n3 4\nsecond\n5 6\n7 8\n", "grid", GridExtent{{10, 90}, {110, 20}});
  REQUIRE(map.repeats.size() == 2);
  // Points are kept from the lowest y on: the last row of the text.
  CHECK(map.at[0] == Vec2{10, 20});
  CHECK(map.repeats[0] == std::vector<double>{3, 4, 1, 2});
  CHECK(map.repeats[1] == std::vector<double>{7, 8, 5, 6});
}

TEST_CASE("bad maps are refused with the line", "[level][bed_map]") {
  CHECK(complaint("0,0,1\n1,0,x\n").find("line 2") != std::string::npos);
  CHECK(complaint("0 0.1 0.2 0.3\n").find("--extent") != std::string::npos);
  // A grid of three columns is not taken for places.
  CHECK(complaint("0.1 0.2 0.3\n0.2 0.1 0.3\n0.1 0.1 0.2\n").find("--extent") != std::string::npos);
  CHECK(complaint("1 2 3\n4 5\n", square).find("line 2") != std::string::npos);
  CHECK(complaint("1 2 3\n4 nan 6\n", square).find("nan") != std::string::npos);
  CHECK(complaint("nan 2 3\n4 5 6\n", square).find("line 1") != std::string::npos);
  CHECK(complaint("1 2 3\n", square).find("two rows") != std::string::npos);
  CHECK(complaint("").find("no row") != std::string::npos);
  CHECK(complaint("only words\n", square).find("no row") != std::string::npos);
  CHECK(complaint("1 2\n3 4\n\n1 2\n3 4\n5 6\n", square) != "");
}

TEST_CASE("turning and mirroring go forth and back, each as the kit's words say", "[level][bed_map]") {
  for (int quarter = 0; quarter < 4; ++quarter)
    for (bool mirrored : {false, true}) {
      const MapConvention c{true, quarter, mirrored, {}};
      const Vec2 p{3, 7};
      CHECK(machine_offset(c, map_offset(c, p)) == p);
    }
  // The map shows the machine turned by a quarter to the left: what is right of the middle shows behind it.
  CHECK(map_offset({true, 1, false, {}}, {1, 0}) == Vec2{0, 1});
  CHECK(map_offset({true, 0, true, {}}, {1, 0}) == Vec2{-1, 0});
  // Mirrored first, then turned.
  CHECK(map_offset({true, 1, true, {}}, {1, 0}) == Vec2{0, -1});
}

TEST_CASE("noise comes from the repeats, their offsets taken out", "[level][bed_map]") {
  BedMap map;
  map.at = {{0, 0}, {10, 0}, {0, 10}};
  map.repeats = {{0, 0, 0}, {0.11, 0.1, 0.09}};
  const HeightMap flat = in_machine_frame(map, {false, 0, false, {5, 5}});
  // Left after means and offsets: -+0.005, 0, +-0.005: squares 4 x 0.005^2 over (3 - 1)(2 - 1).
  REQUIRE(flat.noise_mm);
  CHECK(*flat.noise_mm == Approx(std::sqrt(4 * 0.005 * 0.005 / 2)));
  CHECK(flat.drift_mm == Approx(0.1));
  CHECK(flat.z[0] == Approx(-0.055));
  CHECK(flat.at[0] == Vec2{0, 0});
  map.repeats.pop_back();
  CHECK_FALSE(in_machine_frame(map, {}).noise_mm);
}
