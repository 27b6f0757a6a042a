// bedwright calibrate from outside: sheet, table, profile, and what would correct twice.
#include <catch2/catch.hpp>

#include "cli/program.h"
#include "kit/read_kit.h"

using namespace bedwright;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

/// The sheet, filled in by a printer whose holes are 0.14 small, outlines 0.08 large, first layer 0.05 squashed.
/// `separator` and `comma` as spreadsheets of other countries write them.
std::string filled(const std::string& sheet, const std::string& slicing = "0", bool abroad = false) {
  std::istringstream lines(sheet);
  std::string out;
  for (std::string line; std::getline(lines, line);) {
    if (line[0] == '#') continue;
    std::vector<std::string> cells;
    std::string cell;
    bool quoted = false;
    for (const char c : line) {
      if (c == '"') quoted = !quoted;
      else if (c == ',' && !quoted) cells.push_back(cell), cell.clear();
      else cell += c;
    }
    cells.push_back(cell);
    const auto number = [&](double v) {
      char text[32];
      std::snprintf(text, sizeof text, "%.2f", v);
      std::string t = text;
      if (abroad) std::replace(t.begin(), t.end(), '.', ',');
      return t;
    };
    if (cells[0] == "slicing-program") cells[3] = slicing;
    if (!cells[2].empty() && cells[2] != "drawn_mm") {
      const double drawn = std::stod(cells[2]);
      double off = -0.14;
      if (cells[1] == "near walls") off = 0.14;
      if (cells[0].rfind("boss", 0) == 0 || cells[1] == "length" || cells[1] == "width") off = 0.08;
      if (cells[1] == "over all" || cells[1] == "thickness") off = -0.05;
      cells[3] = number(drawn + off);
      if (abroad) cells[2] = number(drawn);
    }
    for (std::size_t i = 0; i + 1 < cells.size(); ++i) out += (i ? (abroad ? ";" : ",") : "") + cells[i];
    out += abroad ? ";-\r\n" : ",-\n";
  }
  return out;
}

json gauges(const json& compensation = {{"hole_mm", 0}, {"outline_mm", 0}, {"height_mm", 0}}) {
  json kit = demo_kit("bench-gauges");
  kit["printer"]["compensation"] = compensation;
  return kit;
}

}  // namespace

TEST_CASE("calibrate: the sheet lists every size in order, and filled in it gives the compensation", "[cli][calibrate]") {
  const Workshop shop;
  shop.put("kit.json", gauges());
  const Run sheet = shop.run("calibrate kit.json --sheet coupon.csv");
  CAPTURE(sheet.err);
  REQUIRE(sheet.status == 0);
  CHECK_THAT(sheet.out, Catch::Contains("29 sizes of coupon"));
  const std::string text = file_bytes(shop.path / "coupon.csv");
  CHECK(text.find("outline,length") < text.find("boss-1,over all"));
  CHECK(text.find("boss-1,over all") < text.find("hole-1,diameter"));
  CHECK(text.find("hole-5,diameter") < text.find("spacing-1-2,far walls"));
  CHECK(shop.run("calibrate kit.json --sheet coupon.csv").status == 3);
  CHECK(file_bytes(shop.path / "coupon.csv") == text);
  // As it was written nothing is measured and the slicing program is not asked.
  const Run empty = shop.run("calibrate kit.json coupon.csv");
  CHECK(empty.status == 2);
  CHECK_THAT(empty.err, Catch::Contains("slicing-program: is missing"));
  for (const bool abroad : {false, true}) {
    shop.put("filled.csv", filled(text, "0", abroad));
    const Run run = shop.run("calibrate kit.json filled.csv --json");
    CAPTURE(run.err);
    REQUIRE(run.status == 0);
    const json c = json::parse(run.out)["compensation"];
    // Readings are rounded to 0.01 mm.
    CHECK(c["hole_mm"]["value"].get<double>() == Approx(0.14).margin(0.003));
    CHECK(c["outline_mm"]["value"].get<double>() == Approx(-0.08).margin(0.003));
    CHECK(c["height_mm"]["value"].get<double>() == Approx(0.05).margin(0.003));
    CHECK(c["hole_mm"]["u"].get<double>() < 0.003);
  }
  const Run run = shop.run("calibrate kit.json filled.csv");
  CHECK_THAT(run.out, Catch::Contains("+0.14 mm") && Catch::Contains("none that could be told"));
}

TEST_CASE("calibrate: the profile states printer, material, nozzle and day, and a kit takes it", "[cli][calibrate]") {
  const Workshop shop;
  shop.put("kit.json", gauges());
  REQUIRE(shop.run("calibrate kit.json --sheet coupon.csv").status == 0);
  shop.put("filled.csv", filled(file_bytes(shop.path / "coupon.csv")));
  const std::string write = "calibrate kit.json filled.csv --write bench.json ";
  const Run silent = shop.run(write);
  CHECK(silent.status == 2);
  CHECK_THAT(silent.err, Catch::Contains("--printer NAME, --nozzle MM, --on YEAR-MONTH-DAY"));
  CHECK(shop.run(write + "--printer bench --nozzle 0.4 --on 2026-02-30").status == 2);
  CHECK_FALSE(fs::exists(shop.path / "bench.json"));
  const Run run = shop.run(write + "--printer bench --nozzle 0.4 --on 2026-03-28");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  const json profile = json::parse(file_bytes(shop.path / "bench.json"));
  CHECK(profile["name"] == "bench");
  CHECK(profile["nozzle_mm"] == 0.4);
  CHECK(profile["material"] == "asa");
  CHECK(profile["calibrated"]["on"] == "2026-03-28");
  CHECK(profile["calibrated"]["material"] == "asa");
  CHECK(profile["compensation"]["hole_mm"].get<double>() == Approx(0.14).margin(0.003));
  json kit = demo_kit("north-bench");
  kit["printer"] = profile;
  const Kit read = read_kit(kit.dump(), "kit", ".");
  CHECK(read.printer.calibrated->on == "2026-03-28");
  CHECK(read.printer.compensation.hole_mm == profile["compensation"]["hole_mm"].get<double>());
  // Again into the same profile: the values are replaced, what else stands there stays.
  std::string noted = file_bytes(shop.path / "bench.json");
  noted.insert(noted.find('{') + 1, "\n  \"note\": \"by the window\",");
  shop.put("bench.json", noted);
  REQUIRE(shop.run(write + "--printer bench --nozzle 0.4 --on 2026-03-29").status == 0);
  const json again = json::parse(file_bytes(shop.path / "bench.json"));
  CHECK(again["note"] == "by the window");
  CHECK(again["compensation"] == profile["compensation"]);
  CHECK(again["calibrated"]["on"] == "2026-03-29");
  // Another nozzle, material or printer is another profile.
  for (const char* other : {"--printer bench --nozzle 0.6 --on 2026-03-29", "--printer attic --nozzle 0.4 --on 2026-03-29"}) {
    const Run refused = shop.run(write + other);
    CHECK(refused.status == 2);
    CHECK_THAT(refused.err, Catch::Contains("profile is of another"));
  }
  CHECK(json::parse(file_bytes(shop.path / "bench.json")) == again);
  // Into the kit itself.
  REQUIRE(shop.run("calibrate kit.json filled.csv --write kit.json --printer bench --nozzle 0.4 --on 2026-03-28").status == 0);
  const Kit changed = read_kit_file((shop.path / "kit.json").string());
  CHECK(changed.printer.name == "bench");
  CHECK(changed.printer.compensation.outline_mm == profile["compensation"]["outline_mm"].get<double>());
  // Heights that are all 0.75 mm too low ask for more than a profile may add.
  std::istringstream lines(file_bytes(shop.path / "filled.csv"));
  std::string sunk;
  for (std::string line; std::getline(lines, line); sunk += "\n") {
    std::vector<std::string> cells;
    std::istringstream row(line);
    for (std::string cell; std::getline(row, cell, ',');) cells.push_back(cell);
    if (cells.size() > 3 && (cells[1] == "over all" || cells[1] == "thickness")) cells[3] = std::to_string(std::stod(cells[3]) - 0.7);
    for (std::size_t i = 0; i < cells.size(); ++i) sunk += (i ? "," : "") + cells[i];
  }
  shop.put("sunk.csv", sunk);
  const Run far = shop.run("calibrate kit.json sunk.csv --write far.json --printer bench --nozzle 0.4 --on 2026-03-28");
  CHECK(far.status == 2);
  CHECK_THAT(far.err, Catch::Contains("/compensation/height_mm: is more than a profile may add, 0.5 mm (set the printer right first"));
  CHECK_FALSE(fs::exists(shop.path / "far.json"));
  const std::pair<std::string, std::string> others[] = {
      {"[1]", "is no profile: it holds no JSON object (name another file)"},
      {"{ \"format\": \"bedwright/report/1\" }", "is neither a printer's profile nor a kit (name another file)"},
      {"{ \"format\": \"bedwright/kit/1\", \"printer\": \"attic\" }",
       "/printer: is no printer's profile: it holds no JSON object (run bedwright check on the kit)"}};
  for (const auto& [text, words] : others) {
    shop.put("else.json", text);
    const Run refused =
        shop.run("calibrate kit.json filled.csv --write else.json --printer bench --nozzle 0.4 --on 2026-03-28");
    CHECK(refused.status == 2);
    CHECK_THAT(refused.err, Catch::Contains(words));
    CHECK(file_bytes(shop.path / "else.json") == text);
  }
}

TEST_CASE("calibrate: what would correct twice is refused", "[cli][calibrate]") {
  const Workshop shop;
  const json profile = {{"hole_mm", 0.14}, {"outline_mm", -0.08}, {"height_mm", 0.05}};
  shop.put("kit.json", gauges());
  shop.put("calibrated.json", gauges(profile));
  REQUIRE(shop.run("calibrate kit.json --sheet bare.csv").status == 0);
  REQUIRE(shop.run("calibrate calibrated.json --sheet with.csv").status == 0);
  const std::string bare = filled(file_bytes(shop.path / "bare.csv")), with = filled(file_bytes(shop.path / "with.csv"));
  const auto says = [&](const std::string& table, const std::string& kit, int status, const std::string& words) {
    shop.put("t.csv", table);
    const Run run = shop.run("calibrate " + kit + " t.csv");
    CAPTURE(words, run.err, run.out);
    CHECK(run.status == status);
    CHECK_THAT(run.err + run.out, Catch::Contains(words));
  };
  // The bare coupon: the kit may have a compensation by now, it is replaced and not added to.
  says(bare, "kit.json", 0, "+0.14 mm");
  says(bare, "calibrated.json", 0, "+0.14 mm");
  // A coupon that came out right with the profile keeps it: sizes as drawn.
  std::string right;
  {
    std::istringstream lines(file_bytes(shop.path / "with.csv"));
    for (std::string line; std::getline(lines, line);) {
      const std::size_t a = line.find(','), b = line.find(',', a + 1), c = line.find(',', b + 1);
      if (line.rfind("slicing", 0) == 0) line.insert(c + 1, "0");
      else if (line[0] != '#' && c > b + 1 && line.find("drawn_mm") == line.npos) line.insert(c + 1, line.substr(b + 1, c - b - 1));
      right += line + "\n";
    }
  }
  says(right, "calibrated.json", 0, "+0.14 mm");
  // Said to be printed with the profile, but as far off as without it.
  says(with, "calibrated.json", 2, "looks as if it had been printed without it");
  // No word of what it was printed with.
  std::string unsaid = bare;
  unsaid.erase(unsaid.find("printed-with,hole"), unsaid.find("printed-with,outline") - unsaid.find("printed-with,hole"));
  says(unsaid, "kit.json", 2, "printed-with hole: is missing");
  // The slicing program corrects as well.
  says(filled(file_bytes(shop.path / "bare.csv"), "0.1"), "kit.json", 2, "corrected this coupon too");
}

TEST_CASE("calibrate: tables that are wrong are told so, line by line", "[cli][calibrate]") {
  const Workshop shop;
  shop.put("kit.json", gauges());
  const std::string head =
      "feature,quantity,found_mm\nprinted-with,hole,0\nprinted-with,outline,0\nprinted-with,height,0\nslicing-program,own correction,0\n";
  const auto says = [&](const std::string& table, const std::string& words, int status = 2) {
    shop.put("t.csv", table);
    const Run run = shop.run("calibrate kit.json t.csv");
    CAPTURE(table, run.err, run.out);
    CHECK(run.status == status);
    CHECK_THAT(run.err + run.out, Catch::Contains(words));
  };
  says("", "line 1");
  says("a,b\n1,2\n", "must name the columns");
  says(head, "holds no reading");
  says(head + "hole-9,diameter,3\n", "nothing that can be measured");
  says(head + "hole-1,diameter,3\nhole-1,diameter,3\n", "twice");
  says(head + "hole-1,diameter,three\n", "is no number");
  says(head + "hole-5,diameter,0.315\n", "in inches");
  says(head + "hole-5,diameter,0.79\n", "in centimetres");
  says(head + "hole-1,diameter,7.9\n", "another row's");
  says(head + "printed-with,inside,0\nhole-1,diameter,2.9\n", "none of hole, outline, height");
  says(head + "outline,length,96\noutline,width,62\n", "cannot tell");
  // One size, one reading: a value, its uncertainty not known.
  says(head + "hole-1,diameter,2.9\n", "not known", 0);
  // A misread caliper.
  std::string rows = head;
  const double drawn[] = {3, 4, 5, 6, 8};
  for (int i = 0; i < 5; ++i)
    rows += "hole-" + std::to_string(i + 1) + ",diameter," + std::to_string(drawn[i] - 0.14 + 0.004 * (i % 2) - (i == 2 ? 0.4 : 0)) + "\n";
  says(rows, "Measure again: hole-3 diameter (line 8", 1);
  CHECK(shop.run("calibrate kit.json t.csv --write p.json --printer a --nozzle 0.4 --on 2026-03-28").status == 1);
  CHECK_FALSE(fs::exists(shop.path / "p.json"));
  CHECK(shop.run("calibrate kit.json").status == 2);
  CHECK(shop.run("calibrate kit.json absent.csv").status == 3);
  shop.put("plain.json", demo_kit("north-bench"));
  CHECK_THAT(shop.run("calibrate plain.json t.csv").err, Catch::Contains("no fit coupon"));
}
