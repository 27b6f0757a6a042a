#include "base/delimited.h"

#include <catch2/catch.hpp>

using namespace bedwright;

namespace {

std::vector<std::vector<double>> rows(const std::string& text, std::size_t columns = 3) {
  return read_number_table(text, "t.csv", columns).rows;
}

std::string complaint(const std::string& text) {
  try {
    read_number_table(text, "t.csv", 3);
  } catch (const BadInput& bad) {
    std::string all;
    for (const Problem& problem : bad.problems) all += to_text(problem) + "\n";
    return all;
  }
  return "";
}

}  // namespace

TEST_CASE("delimited: one table however it is written", "[delimited]") {
  const std::vector<std::vector<double>> wanted = {{1.5, -2, 0.25}, {3, 4, -5.5}};
  CHECK(rows("1.5,-2,0.25\n3,4,-5.5\n") == wanted);
  CHECK(rows("1.5;-2;0.25\r\n3;4;-5.5") == wanted);
  CHECK(rows("1,5;-2;0,25\n3;4;-5,5\n") == wanted);
  CHECK(rows("1,5 -2 0,25\n3 4 -5,5\n") == wanted);
  CHECK(rows("1.5\t-2\t0.25\r3\t4\t-5.5\r") == wanted);
  CHECK(rows("  1.5   -2  0.25\n\n3 4 -5.5") == wanted);
  CHECK(rows("1.5, -2, 0.25\n3 , 4 , -5.5\n") == wanted);
  CHECK(rows("\xef\xbb\xbfx_mm,y_mm,z_mm\n# probe log\n\"1.5\",\"-2\",\"0.25\"\n// end\n3,4,-5.5,\n") == wanted);
  CHECK(rows("+1.5 \xe2\x88\x92"
             "2 2.5e-1\n3 4 -5.5") == wanted);
}

TEST_CASE("delimited: the header is kept in lower case and lines are counted", "[delimited]") {
  const NumberTable table = read_number_table("# a\nX_mm; Y_mm; Z_mm\n\n1;2;3\n", "t.csv", 3);
  CHECK(table.header == std::vector<std::string>{"x_mm", "y_mm", "z_mm"});
  CHECK(table.lines == std::vector<int>{4});
  CHECK_FALSE(table.decimal_comma);
}

TEST_CASE("delimited: what cannot be read is named with its line, all of it", "[delimited]") {
  const std::string said = complaint("1,2,3\n4,five,6\n7,8\n9,10,inf\n1,,2\n");
  CHECK(said.find("line 2: 'five'") != said.npos);
  CHECK(said.find("line 3: '7,8'") != said.npos);
  CHECK(said.find("line 4: 'inf'") != said.npos);
  CHECK(said.find("line 5") != said.npos);
  CHECK(complaint("x,y,z\n").find("holds no row of numbers") != std::string::npos);
  CHECK(complaint("1 2 1.2.3").find("1.2.3") != std::string::npos);
  CHECK(complaint("1 2 nan").find("nan") != std::string::npos);
  CHECK(complaint("1 2 1e999").find("1e999") != std::string::npos);
  std::string many;
  for (int i = 0; i < 50; ++i) many += "1,2,x\n";
  CHECK(complaint(many).find("and 30 more lines") != std::string::npos);
}
