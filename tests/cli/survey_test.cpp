// bedwright survey from outside: readings, heights, scans, what is written into a kit and what is refused.
#include <catch2/catch.hpp>
#include <cstring>

#include "cli/program.h"
#include "survey/random.h"

using namespace bedwright;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

/// Heights of a sphere (radius < 0: a bowl) with a twist, as CSV in millimetres over `unit`.
std::string heights(double radius, double twist, double noise, double unit = 1, std::uint64_t seed = 1) {
  Dice dice(seed);
  std::string text = "x_mm,y_mm,z_mm\n";
  if (unit != 1) text = "# no units said\n";
  for (int i = 0; i < 13; ++i)
    for (int j = 0; j < 11; ++j) {
      const double x = -120 + 20.0 * i, y = -100 + 20.0 * j, r = std::fabs(radius);
      const double sag = r - std::sqrt(r * r - (x - 6) * (x - 6) - (y + 4) * (y + 4));
      const double z = (radius > 0 ? -sag : sag) + twist * x * y + noise * dice.normal();
      text += std::to_string(x / unit) + "," + std::to_string(y / unit) + "," + std::to_string(z / unit) + "\n";
    }
  return text;
}

json document(const Workshop& shop, const std::string& arguments, int status = 0) {
  const Run run = shop.run("survey " + arguments + " --json");
  CAPTURE(arguments, run.out, run.err);
  CHECK(run.status == status);
  return json::parse(run.out);
}

bool has_finding(const json& document, const std::string& code) {
  for (const json& f : document["findings"])
    if (f["code"] == code) return true;
  return false;
}

const std::string four =
    "--straightedge 200 --gap 1.92 --along x --straightedge 200 --gap 1.9 --along y "
    "--straightedge 260 --gap 3.25 --along d1 --straightedge 260 --gap 3.3 --along d2";

}  // namespace

TEST_CASE("survey: straightedge and feelers", "[cli][survey]") {
  Workshop shop;
  // c 200, s 1: R 5000.5, closed form.
  const json one = document(shop, "--straightedge 200 --gap 1");
  CHECK(one["format"] == "bedwright/survey/1");
  CHECK(one["radius_mm"] == Approx(5000.5));
  CHECK(one["shape"] == "sphere");
  CHECK(one["crown"] == "up");
  CHECK(one["twist_mm"].is_null());
  CHECK(one["points"] == 1);
  CHECK(has_finding(one, "saddle-unseen"));
  for (const char* key : {"radius_u_mm", "apex_mm", "apex_u_mm", "rms_mm", "max_residual_mm", "outliers", "scale"})
    CHECK(one.contains(key));
  const json all = document(shop, four);
  CHECK(all["shape"] == "sphere");
  CHECK_FALSE(has_finding(all, "saddle-unseen"));
  CHECK(all["radius_mm"] == Approx(2600).epsilon(0.02));
  const json saddle = document(
      shop, "--straightedge 200 --gap 0 --along x --gap 0 --along y --gap 0.6 --along d1 --gap -0.6 --along d2");
  CHECK(saddle["shape"] == "saddle");
  const json round = document(
      shop, "--straightedge 200 --gap 0 --along x --gap 1.9 --along y --gap 0.95 --along d1 --gap 0.95 --along d2");
  CHECK(round["shape"] == "cylinder");
  CHECK(round["axis"] == "x");
  CHECK(round["axis_deg"] == 0);
  CHECK(document(shop, "--leg-circle 120 --reading 0.7")["radius_mm"] == Approx(3600 / 1.4 + 0.35).epsilon(1e-6));
  CHECK(document(shop, "--straightedge 200 --gap 1 --crown down")["crown"] == "down");
  const Run text = shop.run("survey " + four);
  CHECK_THAT(text.out, Catch::Contains("Shape: a sphere") && Catch::Contains("95 %"));
}

TEST_CASE("survey: heights, and the dome written into the kit's own text", "[cli][survey]") {
  Workshop shop;
  shop.put("heights.csv", heights(2500, 0, 0.01));
  const std::string kit = file_bytes(fs::path(BEDWRIGHT_ROOT) / "params/kits/north-bench.json");
  shop.put("kit.json", kit);
  const json found = document(shop, "--points heights.csv --write kit.json --picture map.svg");
  CHECK(found["shape"] == "sphere");
  CHECK(std::fabs(found["radius_mm"].get<double>() - 2500) < 4 * found["radius_u_mm"].get<double>());
  CHECK(std::fabs(found["apex_mm"][0].get<double>() - 6) < 4 * found["apex_u_mm"][0].get<double>());
  CHECK(std::fabs(found["apex_mm"][1].get<double>() + 4) < 4 * found["apex_u_mm"][1].get<double>());
  CHECK(found["written"] == "kit.json");
  const std::string fresh = file_bytes(shop.path / "kit.json");
  const json before = json::parse(kit), after = json::parse(fresh);
  CHECK(after["frame"]["dome"]["radius_mm"].get<double>() == Approx(found["radius_mm"].get<double>()).margin(0.05));
  json same = after;
  same["frame"]["dome"] = before["frame"]["dome"];
  CHECK(same == before);
  // The text before and after the block is the owner's, byte for byte.
  const std::size_t head = kit.find("\"dome\""), tail = kit.find("\"hole_pattern\"");
  CHECK(fresh.substr(0, head) == kit.substr(0, head));
  CHECK(fresh.size() - fresh.find("\"hole_pattern\"") == kit.size() - tail);
  CHECK(fresh.substr(fresh.find("\"hole_pattern\"")) == kit.substr(tail));
  CHECK(shop.run("check kit.json").status ==
        shop.run("check '" + std::string(BEDWRIGHT_ROOT) + "/params/kits/north-bench.json'").status);
  CHECK(shop.run("layout kit.json").status == 0);
  CHECK_THAT(file_bytes(shop.path / "map.svg"), Catch::StartsWith("<?xml") && Catch::Contains("FRONT"));
}

TEST_CASE("survey: every shape is written as a kit that is read again", "[cli][survey]") {
  Workshop shop;
  json kit = demo_kit("north-bench");
  kit["frame"]["dome"] = {{"shape", "flat"}};
  shop.put("kit.json", kit);
  const auto write = [&](const std::string& arguments, const char* shape) {
    CAPTURE(arguments);
    CHECK(shop.run("survey " + arguments + " --write kit.json").status == 0);
    CHECK(json::parse(file_bytes(shop.path / "kit.json"))["frame"]["dome"]["shape"] == shape);
    CHECK(shop.run("layout kit.json").status == 0);
  };
  write(four, "sphere");
  write("--straightedge 200 --gap 1.9 --along x --gap 0 --along y --gap 0.95 --along d1 --gap 0.95 --along d2",
        "cylinder");
  write("--straightedge 200 --gap 1.9 --along x --gap 0.9 --along y --gap 1.4 --along d1 --gap 1.4 --along d2",
        "two_radius");
  write("--straightedge 200 --gap 0 --along x --gap 0 --along y --gap 0 --along d1 --gap 0 --along d2", "flat");
}

TEST_CASE("survey: what contradicts the kit is not written", "[cli][survey]") {
  Workshop shop;
  shop.put("bowl.csv", heights(-2500, 0, 0.01));
  const std::string kit = file_bytes(fs::path(BEDWRIGHT_ROOT) / "params/kits/north-bench.json");
  shop.put("kit.json", kit);
  const json found = document(shop, "--points bowl.csv --write kit.json", 1);
  CHECK(has_finding(found, "survey-crown"));
  CHECK(file_bytes(shop.path / "kit.json") == kit);
  // Said so, or read the other way round, it goes in.
  CHECK(document(shop, "--points bowl.csv --kit kit.json --positive-is low")["crown"] == "up");
  document(shop, "--points bowl.csv --write kit.json --crown down");
  CHECK(json::parse(file_bytes(shop.path / "kit.json"))["frame"]["dome"]["crown"] == "down");
}

TEST_CASE("survey: a scan, its scale and its holes", "[cli][survey]") {
  Workshop shop;
  shop.put("kit.json", demo_kit("north-bench"));
  // A scan in metres, 0.9 % too small, as OBJ, with a flange that does not belong.
  Dice dice(4);
  std::string obj;
  for (int i = 0; i < 9000; ++i) {
    const double x = dice.between(-130, 130), y = dice.between(-110, 110), f = 1 / 1.009 / 1000;
    double z = std::sqrt(2600.0 * 2600 - x * x - y * y) - 2600 + 0.02 * dice.normal();
    if (x > 118) z -= (x - 118) * 2;
    obj += "v " + std::to_string(x * f) + " " + std::to_string(y * f) + " " + std::to_string(z * f) + "\n";
  }
  shop.put("frame.obj", obj);
  const std::string known = " --known -0.0971258,0,0,0.0971258,0,0,196 --known 0,-0.0743310,0,0,0.0743310,0,150";
  const json found = document(shop, "--scan frame.obj --units m --kit kit.json --region=-110,-100,110,100" + known);
  CHECK(found["scale"]["x"] == Approx(1.009).epsilon(1e-4));
  CHECK(found["scale"]["y"] == Approx(1.009).epsilon(1e-4));
  CHECK(std::fabs(found["radius_mm"].get<double>() - 2600) < 3.5 * found["radius_u_mm"].get<double>());
  CHECK(has_finding(found, "scan-scale"));
  // 0.9 % of 196 is 1.76 mm: more than (4.5 - 4) / 2 = 0.25 mm.
  bool said = false;
  for (const json& f : found["findings"])
    if (f["code"] == "scan-scale")
      said = f["message"].get<std::string>().find("1.7") != std::string::npos &&
             f["message"].get<std::string>().find("more than the 0.25 mm") != std::string::npos;
  CHECK(said);
  CHECK(has_finding(document(shop, "--scan frame.obj --units m --region=-110,-100,110,100"), "scale-unknown"));
  const Run metres = shop.run("survey --scan frame.obj --kit kit.json");
  CHECK(metres.status == 2);
  CHECK_THAT(metres.err, Catch::Contains("--units m"));
}

TEST_CASE("survey: one known length, a leaning sheet, strays and points that share their error are remarked on",
          "[cli][survey]") {
  const Workshop shop;
  Dice dice(7);
  const auto scan = [&](double lean, double strays, double shared) {
    std::string obj;
    double drift = 0;
    for (int i = 0; i < 4000; ++i) {
      const double x = dice.between(-110, 110), y = dice.between(-90, 90);
      double z = std::sqrt(2600.0 * 2600 - x * x - y * y) - 2600 + lean * x + 0.01 * dice.normal();
      if (dice.between(0, 1) < strays) z -= dice.between(3, 40);
      obj += "v " + std::to_string(x) + " " + std::to_string(y) + " " + std::to_string(z + shared * drift) + "\n";
    }
    return obj;
  };
  shop.put("level.obj", scan(0, 0, 0));
  // One length along x fixes the scale along x alone.
  CHECK(has_finding(document(shop, "--scan level.obj --known=-100,0,0,100,0,0,201"), "scale-one-way"));
  CHECK_FALSE(has_finding(document(shop, "--scan level.obj --known=-100,0,0,100,0,0,201 --known=0,-80,0,0,80,0,161"),
                          "scale-one-way"));
  CHECK_FALSE(has_finding(document(shop, "--scan level.obj"), "not-level"));
  // 0.1 leans by 5.7 degrees, which moves the apex to -260 mm, outside of the points.
  shop.put("leaning.obj", scan(0.1, 0, 0));
  const json leaning = document(shop, "--scan leaning.obj");
  CHECK(has_finding(leaning, "not-level"));
  shop.put("strays.obj", scan(0, 0.4, 0));
  CHECK(has_finding(document(shop, "--scan strays.obj"), "many-outliers"));
  CHECK_FALSE(has_finding(document(shop, "--scan level.obj"), "many-outliers"));
  // An error that is a wave of 25 mm, six ways at once: 40,000 points are not 40,000 witnesses.
  std::string rippled;
  for (int i = 0; i < 200; ++i)
    for (int j = 0; j < 200; ++j) {
      const double x = -100 + i, y = -100 + j;
      double wave = 0;
      for (int w = 0; w < 6; ++w) wave += std::sin(0.25 * (x * std::cos(w) + y * std::sin(w)) + 1.3 * w * w);
      const double z = std::sqrt(2600.0 * 2600 - x * x - y * y) - 2600 + 0.01 * wave + 0.005 * dice.normal();
      rippled += "v " + std::to_string(x) + " " + std::to_string(y) + " " + std::to_string(z) + "\n";
    }
  shop.put("rippled.obj", rippled);
  CHECK(has_finding(document(shop, "--scan rippled.obj"), "neighbours-alike"));
  CHECK_FALSE(has_finding(document(shop, "--scan level.obj"), "neighbours-alike"));
}

TEST_CASE("survey: bad usage and bad input each get a sentence", "[cli][survey]") {
  Workshop shop;
  shop.put("heights.csv", heights(2500, 0, 0.01));
  shop.put("inches.csv", heights(2500, 0, 0.01, 25.4));
  shop.put("bad.csv", std::string("x_mm,y_mm,z_mm\n1,2,3\n4,five,6\n7,8\n"));
  shop.put("two.csv", std::string("x_mm,y_mm,z_mm\n-90,2,3\n140,5,6\n"));
  const auto says = [&](const std::string& arguments, const std::string& words, int status = 2) {
    CAPTURE(arguments);
    const Run run = shop.run("survey " + arguments);
    CHECK(run.status == status);
    CHECK_THAT(run.err, Catch::Contains(words));
    CHECK(run.out.empty());
  };
  says("", "nothing to survey");
  says("--straightedge 200", "pairs");
  says("--straightedge 200 --gap 1 --gap 2 --along x", "pairs");
  says("--straightedge 8 --gap 0.1", "inches");
  says("--straightedge 200 --gap 1 --points heights.csv", "one of the three");
  says("--straightedge 200 --gap 1 --level", "for points and scans");
  says("--points absent.csv", "absent.csv", 3);
  says("--points bad.csv", "line 3");
  says("--points two.csv", "too few");
  says("--points inches.csv", "--units in");
  says("--points heights.csv --units in", "header says mm");
  says("--points heights.csv --region 500,500,600,600", "no point lies inside");
  says("--points heights.csv --region 1,2,3", "--region");
  says("--points heights.csv --region 1,2,3,x", "not a number");
  says("--points heights.csv --origin 0,0,0", "go together");
  says("--points heights.csv --origin 0,0,0 --on-x 1,0,0 --on-plane 2,0,0", "one line");
  says("--points heights.csv --known 0,0,0,100,0,0", "7 numbers");
  says("--points heights.csv --known 0,0,0,100,0,0,254", "check the two points");
  says("--points heights.csv --write absent.json", "absent.json", 3);
  says("--scan heights.csv", "--points");
  says("--points heights.csv --crown sideways", "--crown");
}

TEST_CASE("survey: numbers with decimal commas, negative ones too", "[cli][survey]") {
  Workshop shop;
  shop.put("heights.csv", heights(2500, 0, 0.01));
  const json found = document(shop, "--points heights.csv '--region=-80,5;-80,5;80,5;80,5'");
  CHECK(found["points"] == 9 * 9);
  CHECK(document(shop, "--points heights.csv --region -80.5,-80.5,80.5,80.5")["points"] == 9 * 9);
}

TEST_CASE("survey: a twisted sheet is kept as points beside the kit", "[cli][survey]") {
  Workshop shop;
  shop.put("heights.csv", heights(2500, 5e-5, 0.01));
  shop.put("kit.json", demo_kit("north-bench"));
  const json found = document(shop, "--points heights.csv --kit kit.json");
  CHECK(found["shape"] == "saddle");
  // 5e-5 x y at the corners of 196 x 150: 5e-5 * 98 * 75.
  CHECK(found["twist_mm"] == Approx(0.3675).margin(0.01));
  CHECK(found["radius_mm"] == Approx(2500).epsilon(0.02));
  const std::string before = file_bytes(shop.path / "kit.json");
  const Run write = shop.run("survey --points heights.csv --write kit.json");
  CAPTURE(write.err);
  REQUIRE(write.status == 0);
  const json dome = json::parse(file_bytes(shop.path / "kit.json"))["frame"]["dome"];
  CHECK(dome["shape"] == "measured");
  CHECK(dome["points"] == "kit-dome.csv");
  CHECK_THAT(file_bytes(shop.path / "kit-dome.csv"), Catch::Contains("x_mm,y_mm,z_mm"));
  CHECK(shop.run("layout kit.json").status == 0);
  // Its own file is replaced, another's is not.
  CHECK(shop.run("survey --points heights.csv --write kit.json").status == 0);
  shop.put("kit-dome.csv", std::string("x,y,z\n1,2,3\n"));
  shop.put("kit.json", before);
  CHECK(shop.run("survey --points heights.csv --write kit.json").status == 3);
  CHECK(file_bytes(shop.path / "kit.json") == before);
  CHECK(file_bytes(shop.path / "kit-dome.csv") == "x,y,z\n1,2,3\n");
}

TEST_CASE("survey: a thousand heights and the same answer twice", "[cli][survey]") {
  Workshop shop;
  shop.put("heights.csv", heights(2500, 0, 0.01));
  const Run once = shop.run("survey --points heights.csv --json --picture a.svg");
  const Run again = shop.run("survey --points heights.csv --json --picture b.svg");
  CHECK(once.out == again.out);
  CHECK(file_bytes(shop.path / "a.svg") == file_bytes(shop.path / "b.svg"));
}
