// bedwright contour from outside: profiles and scans whose lines and arcs are known by construction.
#include <catch2/catch.hpp>
#include <cmath>

#include "cli/program.h"
#include "survey/random.h"

using namespace bedwright;
using nlohmann::json;

namespace {

constexpr double pi = 3.14159265358979323846;

/// Points 1 mm apart round a plate 120 x 80 with corners rounded to 10, from the middle of its front edge on.
std::string rounded_plate(double noise, double unit = 1) {
  Dice dice(3);
  std::string text = "x_mm;y_mm\n";
  if (unit != 1) text = "x;y\n";
  const auto add = [&](double x, double y) {
    const auto put = [&](double v) {
      std::string s = std::to_string((v + noise * (2 * dice.even() - 1)) / unit);
      std::replace(s.begin(), s.end(), '.', ',');
      return s;
    };
    text += put(x) + ";" + put(y) + "\n";
  };
  const double cx[4] = {50, 50, -50, -50}, cy[4] = {-30, 30, 30, -30};
  for (double x = 0; x < 50; x += 1) add(x, -40);
  for (int k = 0; k < 4; ++k) {
    for (double a = 0; a <= 90; a += 5)
      add(cx[k] + 10 * std::cos((a + 90 * k - 90) * pi / 180), cy[k] + 10 * std::sin((a + 90 * k - 90) * pi / 180));
    if (k == 0)
      for (double y = -29; y < 30; y += 1) add(60, y);
    if (k == 1)
      for (double x = 49; x > -50; x -= 1) add(x, 40);
    if (k == 2)
      for (double y = 29; y > -30; y -= 1) add(-60, y);
    if (k == 3)
      for (double x = -49; x < 0; x += 1) add(x, -40);
  }
  return text;
}

json contour(const Workshop& shop, const std::string& arguments) {
  const Run run = shop.run("contour " + arguments + " --json");
  CAPTURE(arguments, run.err);
  REQUIRE(run.status == 0);
  return json::parse(run.out);
}

/// A square tube standing on z = 0: outer 40 x 30, inner 20 x 10, as ASCII STL.
std::string tube() {
  std::string text = "solid tube\n";
  const auto wall = [&](double x0, double y0, double x1, double y1) {
    const auto facet = [&](const std::string& a, const std::string& b, const std::string& c) {
      text += "facet normal 0 0 0\nouter loop\nvertex " + a + "\nvertex " + b + "\nvertex " + c + "\nendloop\nendfacet\n";
    };
    const auto at = [](double x, double y, double z) {
      return std::to_string(x) + " " + std::to_string(y) + " " + std::to_string(z);
    };
    facet(at(x0, y0, 0), at(x1, y1, 0), at(x1, y1, 25));
    facet(at(x0, y0, 0), at(x1, y1, 25), at(x0, y0, 25));
  };
  const auto ring = [&](double x, double y) {
    wall(-x, -y, x, -y);
    wall(x, -y, x, y);
    wall(x, y, -x, y);
    wall(-x, y, -x, -y);
  };
  ring(20, 15);
  ring(10, 5);
  return text + "endsolid\n";
}

}  // namespace

TEST_CASE("contour: a traced plate comes back as four lines and four arcs", "[cli][contour]") {
  const Workshop shop;
  shop.put("plate.csv", rounded_plate(0.03));
  const json found = contour(shop, "plate.csv --within 0.1 --picture plate.svg --out again.csv");
  CHECK(found["format"] == "bedwright/contour/1");
  CHECK(found["closed"] == true);
  CHECK(found["deviation_mm"].get<double>() <= 0.1);
  int lines = 0, arcs = 0;
  for (const json& p : found["pieces"]) {
    if (p["kind"] == "line") ++lines;
    if (p["kind"] != "arc") continue;
    ++arcs;
    // 19 points within 0.03 along a quarter turn know the radius to a few tenths.
    CHECK(p["radius_mm"].get<double>() == Approx(10).margin(0.4));
    CHECK(std::fabs(p["centre_mm"][0].get<double>()) == Approx(50).margin(0.4));
    CHECK(p["turns"] == "left");
  }
  CHECK(lines == 4);
  CHECK(arcs == 4);
  CHECK_THAT(file_bytes(shop.path / "plate.svg"), Catch::StartsWith("<?xml") && Catch::Contains("R1"));
  // What is handed on is read again and is the same outline.
  const json again = contour(shop, "again.csv --in-order --within 0.02");
  CHECK(again["pieces"].size() == 8);
  // A unit is what the header says, and no other may be claimed.
  std::string inches = rounded_plate(0, 25.4);
  inches.replace(0, 3, "x_in;y_in");
  shop.put("inches.csv", inches);
  const json by_header = contour(shop, "inches.csv --within 0.05");
  CHECK(by_header["pieces"].size() == 8);
  double round = 0;
  for (const json& p : by_header["pieces"]) round += p["length_mm"].get<double>();
  CHECK(round == Approx(2 * (100 + 60) + 2 * pi * 10).epsilon(1e-3));
  const Run claimed = shop.run("contour inches.csv --units mm");
  CHECK(claimed.status == 2);
  CHECK_THAT(claimed.err, Catch::Contains("header says in"));
  // Points in no order, and in centimetres.
  shop.put("cm.csv", rounded_plate(0, 10));
  CHECK(contour(shop, "cm.csv --units cm --within 0.05")["pieces"].size() == 8);
}

TEST_CASE("contour: an open profile keeps its ends, a circle is one", "[cli][contour]") {
  const Workshop shop;
  shop.put("step.csv", std::string("0 0\n5 0\n10 0\n15 0\n20 0\n20 2\n20 4\n20 6\n25 6\n30 6\n35 6\n40 6\n"));
  const json step = contour(shop, "step.csv --open --in-order --within 0.01");
  CHECK(step["closed"] == false);
  REQUIRE(step["pieces"].size() == 3);
  CHECK(step["pieces"][0]["length_mm"] == Approx(20));
  CHECK(step["pieces"][1]["length_mm"] == Approx(6));
  CHECK(step["pieces"][2]["to_mm"] == json::array({40.0, 6.0}));
  std::string ring;
  for (int a = 0; a < 360; a += 6)
    ring += std::to_string(3 + 12 * std::cos(a * pi / 180)) + " " + std::to_string(12 * std::sin(a * pi / 180)) + "\n";
  shop.put("ring.csv", ring);
  const Run text = shop.run("contour ring.csv");
  CHECK(text.status == 0);
  CHECK_THAT(text.out, Catch::Contains("A circle of diameter 24") && Catch::Contains("about 3, 0"));
  CHECK(contour(shop, "ring.csv")["circle"] == true);
}

TEST_CASE("contour: a cut through a scan follows the longest chain and counts the rest", "[cli][contour]") {
  const Workshop shop;
  shop.put("tube.stl", tube());
  const json found = contour(shop, "tube.stl --cut z=12.5 --within 0.01");
  CHECK(found["plane"] == "z = 12.5");
  CHECK(found["other_chains"] == 1);
  REQUIRE(found["pieces"].size() == 4);
  double round = 0;
  for (const json& p : found["pieces"]) round += p["length_mm"].get<double>();
  CHECK(round == Approx(140));  // 2 (40 + 30)
  const json side = contour(shop, "tube.stl --cut x=0 --within 0.01");
  CHECK(side["closed"] == false);
  CHECK(side["pieces"][0]["length_mm"] == Approx(25));
}

TEST_CASE("contour: bad usage and bad input each get a sentence", "[cli][contour]") {
  const Workshop shop;
  shop.put("tube.stl", tube());
  shop.put("two.csv", std::string("0 0\n1 0\n"));
  shop.put("eight.csv", std::string("0 0\n10 10\n10 0\n0 10\n"));
  const auto says = [&](const std::string& arguments, const std::string& words, int status = 2) {
    CAPTURE(arguments);
    const Run run = shop.run("contour " + arguments);
    CHECK(run.status == status);
    CHECK_THAT(run.err, Catch::Contains(words));
    CHECK(run.out.empty());
  };
  shop.put("one.csv", std::string("x_mm,w\n1,2\n3,4\n5,1\n"));
  says("one.csv", "not both");
  says("", "PROFILE");
  says("absent.csv", "absent.csv", 3);
  says("two.csv", "3");
  says("two.csv --within 0", "--within");
  says("eight.csv --in-order", "crosses itself");
  says("tube.stl --cut w=3", "--cut");
  says("tube.stl --cut z=99", "does not cut");
  says("tube.stl --cut z=9 --open", "--open");
  says("tube.stl", "line 1");
}
