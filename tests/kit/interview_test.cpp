#include "kit/interview.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <set>
#include <string>

#include "base/error.h"
#include "kit/measured_value.h"
#include "kit/pointer.h"
#include "kit/read_kit.h"

using namespace bedwright;

namespace {

using Script = std::map<std::string, std::string>;

/// Invented machine. The dome: 200 mm chord and 2 mm gap give 200^2 / 16 + 1 = 2501 mm, by hand.
Script typical() {
  return {{"safe", "yes"},
          {"kit", "north-bench"},
          {"rail-width", "12"},
          {"carriage-length", "35"},
          {"rail-length", "370"},
          {"rail-pitch", "150"},
          {"carriage-spacing", "90"},
          {"travel", "215"},
          {"sheet", "2"},
          {"sheet-mass", "610"},
          {"holes-x", "196"},
          {"holes-y", "150"},
          {"frame-hole", "4.5"},
          {"crown", "up"},
          {"edge-x", "200"},
          {"gap-x", "2"},
          {"gap-y", "2"},
          {"gap-d1", "2"},
          {"gap-d2", "2"},
          {"mounts-x", "176"},
          {"mounts-y", "176"},
          {"bed-width", "240"},
          {"bed-mass", "780"}};
}

/// Answers every question: from the script by key, otherwise with Enter. Fails the test on a complaint.
Interview answered(const Script& script) {
  Interview interview;
  while (const Question* question = next_question(interview)) {
    const auto line = script.find(question->key);
    const std::string key = question->key;
    const Reply reply = take_answer(interview, line == script.end() ? "" : line->second);
    INFO(key << ": " << reply.text);
    REQUIRE(reply.kind == Reply::Kind::accepted);
  }
  return interview;
}

/// Answers up to, not including, the question with that key.
Interview answered_until(const std::string& key, const Script& script) {
  Interview interview;
  while (const Question* question = next_question(interview)) {
    if (question->key == key) return interview;
    const auto line = script.find(question->key);
    REQUIRE(take_answer(interview, line == script.end() ? "" : line->second).kind == Reply::Kind::accepted);
  }
  FAIL("never asked: " << key);
  return interview;
}

Json document(const Interview& interview) {
  return Json::parse(kit_document(interview.answers).dump());
}

Json without_notes(Json kit) {
  kit["frame"]["dome"].erase("note");
  return kit;
}

}  // namespace

TEST_CASE("interview: a typical machine, Enter for the rest", "[interview]") {
  const Interview interview = answered(typical());
  const Json expected = Json::parse(R"({
    "format": "bedwright/kit/1", "kit": "north-bench", "revision": "A",
    "frame": { "sheet_thickness_mm": 2, "mass_g": 610, "material": "steel",
      "dome": { "shape": "sphere", "radius_mm": 2501, "crown": "up", "apex_mm": [0, 0], "measured_on": "underside" },
      "hole_pattern": { "kind": "rectangular", "pitch_mm": [196, 150], "centre_mm": [0, 0], "diameter_mm": 4.5 },
      "bed_mounts": { "kind": "rectangular", "pitch_mm": [176, 176], "diameter_mm": 4.5 } },
    "rails": { "size": "mini-12", "pitch_mm": 150, "length_mm": 370, "travel_mm": 215, "end_margin_mm": 4, "end_distance_mm": 10 },
    "carriages": { "size": "mini-12-short", "spacing_mm": 90, "preload": "clearance", "height_mm": 13, "width_mm": 27,
      "length_mm": 35, "hole_pitch_mm": [20, 15] },
    "bed": { "size_mm": [240, 240], "mass_g": 780, "material": "aluminium", "max_temperature_c": 90 },
    "printer": { "bed_mm": [220, 220, 240], "layer_mm": 0.2, "first_layer_mm": 0.2, "line_mm": 0.45, "material": "asa" },
    "parts": [ { "id": "adapter", "family": "adapter_plate", "thickness_mm": 6, "boss_side": "down", "frame_screw": "M4", "slot_mm": 1 } ]
  })");
  CHECK(without_notes(document(interview)) == expected);
  const Kit kit = read_kit(kit_document(interview.answers).dump(2), "typical", ".");
  CHECK(kit.name == "north-bench");
  CHECK(kit.frame.dome.radius_mm == 2501);
  CHECK(kit.frame.dome.crown_up);
  CHECK(kit.carriages.size.length_mm == 35);
}

TEST_CASE("interview: imperial, commas and fractions make the same kit", "[interview]") {
  Script script = typical();
  script["rail-length"] = "37 cm";
  script["rail-pitch"] = "5 7/8 in";  // 149.225 mm
  script["sheet"] = "2,0";
  script["travel"] = "0.215 m";
  script["frame-hole"] = "0.1875\"";  // 4.7625 mm
  script["sheet-mass"] = "0.61 kg";
  script["bed-temperature"] = "194 F";
  const Json kit = document(answered(script));
  CHECK(kit["rails"]["length_mm"] == 370);
  CHECK(kit["rails"]["pitch_mm"] == 149.225);
  CHECK(kit["rails"]["travel_mm"] == 215);
  CHECK(kit["frame"]["sheet_thickness_mm"] == 2);
  CHECK(kit["frame"]["hole_pattern"]["diameter_mm"] == 4.7625);
  CHECK(kit["frame"]["mass_g"] == 610);
  CHECK(kit["bed"]["max_temperature_c"] == 90);
  CHECK_NOTHROW(read_kit(kit.dump(), "imperial", "."));
}

TEST_CASE("interview: every option asked for is in the kit, and the reader takes it", "[interview]") {
  Script script = typical();
  script["compare"] = "yes";
  script["old-bearing"] = "120";
  script["old-height"] = "62";
  script["rail-width"] = "11.97";
  script["carriage-length"] = "45.6";
  script["face"] = "upper";
  script["riser"] = "yes";
  script["riser-height"] = "8";
  script["shim"] = "y";
  script["boss-side"] = "u";
  script["title"] = "Bench by the window";
  const Interview interview = answered(script);
  const Json kit = document(interview);
  CHECK(kit["before"] == Json::parse(R"({"bearing_length_mm": 120, "play_um": 80, "bed_height_mm": 62})"));
  CHECK(kit["carriages"]["size"] == "mini-12-long");
  CHECK(kit["carriages"]["hole_pitch_mm"] == Json::parse("[20, 20]"));
  CHECK(kit["frame"]["dome"]["measured_on"] == "upper");
  CHECK(kit["parts"][0]["boss_side"] == "up");
  CHECK(kit["parts"][1] == Json::parse(R"({"id": "riser", "family": "spacer", "quantity": 4, "thickness_mm": 8,
                                          "outer_mm": 15, "hole_mm": 4.5})"));
  CHECK(kit["parts"][2]["thickness_mm"] == 0.4);
  CHECK_NOTHROW(read_kit(kit_document(interview.answers).dump(2), "options", "."));
}

TEST_CASE("interview: a flat sheet asks for no gaps", "[interview]") {
  Script script = typical();
  script["crown"] = "flat";
  script["mounts"] = "no";
  const Interview interview = answered(script);
  CHECK(interview.answers.count("gap-x") == 0);
  CHECK(document(interview)["frame"]["dome"] == Json::parse(R"({"shape": "flat"})"));
  CHECK(document(interview)["frame"].count("bed_mounts") == 0);
  CHECK_NOTHROW(read_kit(kit_document(interview.answers).dump(2), "flat", "."));
}

TEST_CASE("interview: back returns one question and offers the answer again", "[interview]") {
  Interview interview = answered_until("sheet", typical());
  CHECK(take_answer(interview, "2").kind == Reply::Kind::accepted);
  CHECK(next_question(interview)->key == "sheet-material");
  CHECK(take_answer(interview, "back").kind == Reply::Kind::back);
  CHECK(next_question(interview)->key == "sheet");
  CHECK(usual_answer(interview, *next_question(interview)) == "2");
  CHECK(take_answer(interview, "BACK").kind == Reply::Kind::back);
  CHECK(next_question(interview)->key == "end-margin");
  CHECK(take_answer(interview, "").kind == Reply::Kind::accepted);
  CHECK(take_answer(interview, "3").kind == Reply::Kind::accepted);
  CHECK(interview.answers["sheet"] == 3);
}

TEST_CASE("interview: back over a condition forgets what it led to", "[interview]") {
  Script script = typical();
  script["compare"] = "yes";
  Interview interview = answered_until("old-bearing", script);
  take_answer(interview, "back");
  CHECK(next_question(interview)->key == "compare");
  take_answer(interview, "no");
  CHECK(next_question(interview)->key == "rail-width");
}

TEST_CASE("interview: the first question has nothing before it, and no is no way on", "[interview]") {
  Interview interview;
  CHECK(take_answer(interview, "back").kind == Reply::Kind::complaint);
  CHECK(take_answer(interview, "").kind == Reply::Kind::complaint);
  CHECK(take_answer(interview, "no").kind == Reply::Kind::complaint);
  CHECK(next_question(interview)->key == "safe");
}

TEST_CASE("interview: slips get a sentence at once and the question stays", "[interview]") {
  const struct {
    const char* key;
    const char* line;
    const char* words;
  } cases[] = {
      {"rail-pitch", "5.9", "149.86"},  // inches: 5.9 * 25.4
      {"rail-pitch", "15", "150"},      // centimetres
      {"rail-pitch", "abc", "not a number"},
      {"rail-pitch", "150 ft", "no unit"},
      {"rail-pitch", "1,250", "1250 or 1.250"},
      {"rail-pitch", "25", "overlap"},  // within the range, below the carriage's width
      {"rail-pitch", "nan", "not a number"},
      {"rail-pitch", "1e2", "not a number"},
      {"rail-pitch", "5000", "20 to 800"},
      {"rail-pitch", "-", "cannot be skipped"},
      {"rail-pitch", "", "needs an answer"},
      {"carriage-spacing", "34", "overlap"},
      {"kit", "North Bench", "north-bench"},
      {"kit", "???x", "x?"},
      {"revision", "A/1", "Letters"},
      {"rail-width", "10", "7, 9, 12 or 15"},
      {"crown", "upp", "Did you mean up"},
      {"sheet", "0.08", "2.03"},  // inches: 0.08 * 25.4 = 2.032
      {"gap-x", "-0.4", "saddle"},
      {"gap-x", "60", "bowl"},
      {"gap-x", "120", "bowl"},
      {"frame-screw", "M5", "does not pass"},
      {"mounts", "maybe", "yes or no"},
      {"bed-temperature", "900", "20 to 200"},
      {"title", "\x01", "Plain text"},
      {"title", "\xff", "UTF-8"},
  };
  for (const auto& c : cases) {
    INFO(c.key << " answered with " << c.line);
    Interview interview = answered_until(c.key, typical());
    const Reply reply = take_answer(interview, c.line);
    CHECK(reply.kind == Reply::Kind::complaint);
    CHECK_THAT(reply.text, Catch::Contains(c.words));
    CHECK(next_question(interview)->key == c.key);
    CHECK(interview.answers.count(c.key) == 0);
  }
}

TEST_CASE("interview: a text is as long as its characters, whatever bytes they have", "[interview]") {
  Interview interview = answered_until("title", typical());
  const Reply reply = take_answer(interview, std::string(201, 'x'));
  CHECK(reply.kind == Reply::Kind::complaint);
  CHECK(reply.text == "At most 200 characters, please.");
  std::string umlauts;
  for (int i = 0; i < 200; ++i) umlauts += "\xc3\xbc";
  CHECK(take_answer(interview, umlauts).kind == Reply::Kind::accepted);
}

TEST_CASE("interview: an unusual value is taken and remarked on", "[interview]") {
  Interview interview = answered_until("rail-pitch", typical());
  take_answer(interview, "30");
  CHECK(interview.answers["rail-pitch"] == 30);
  Script script = typical();
  script["travel"] = "300";
  Interview longer = answered_until("end-margin", script);
  // 300 + 90 + 35 + 8 = 433 mm of rail.
  CHECK_THAT(take_answer(longer, "4").remark, Catch::Contains("433"));
}

TEST_CASE("interview: help says how, the range and the choices", "[interview]") {
  Interview interview = answered_until("rail-pitch", typical());
  const Reply reply = take_answer(interview, "?");
  CHECK(reply.kind == Reply::Kind::help);
  CHECK_THAT(reply.text, Catch::Contains("20 to 800"));
  CHECK(next_question(interview)->key == "rail-pitch");
  Interview choice = answered_until("crown", typical());
  CHECK_THAT(take_answer(choice, "?").text, Catch::Contains("the middle is lower than the rim"));
}

TEST_CASE("interview: every question is numbered once, explained, and points into the schema", "[interview]") {
  std::set<std::string> numbers, keys;
  int section = 0, place = 0;
  for (const Question& q : questions()) {
    INFO(q.key);
    CHECK(numbers.insert(number_text(q)).second);
    CHECK(keys.insert(q.key).second);
    CHECK((q.section == section ? q.place == place + 1 : q.section == section + 1 && q.place == 1));
    section = q.section;
    place = q.place;
    CHECK(!q.label.empty());
    CHECK(!q.help.empty());
    CHECK(q.label.size() <= 30);
  }
  CHECK(sections().size() == static_cast<std::size_t>(section));
}

TEST_CASE("interview: a problem of the reader leads back to its question", "[interview]") {
  Interview interview = answered(typical());
  REQUIRE(reopen(interview, "/frame/hole_pattern"));
  CHECK(next_question(interview)->key == "holes-x");
  CHECK(usual_answer(interview, *next_question(interview)) == "196");
  CHECK(interview.answers.count("gap-x") == 0);
  Interview other = answered(typical());
  CHECK(reopen(other, "/carriages/hole_pitch_mm/1"));
  CHECK(next_question(other)->key == "holes-along");
  CHECK_FALSE(reopen(other, "/nowhere"));
  CHECK_FALSE(reopen(other, ""));
}

TEST_CASE("interview: the summary has a line for each answer", "[interview]") {
  const Interview interview = answered(typical());
  const std::string text = summary(interview);
  for (std::size_t i : interview.asked) CHECK_THAT(text, Catch::Contains(questions()[i].label));
  CHECK_THAT(text, Catch::Contains("150 mm"));
}

TEST_CASE("measured values: units, commas and fractions", "[interview]") {
  const auto length = [](const char* text) { return parse_measured_value(text, Quantity::length).value; };
  CHECK(length("150") == 150);
  CHECK(length(" 150,5 mm") == 150.5);
  CHECK(length("1 in") == 25.4);  // international inch, 1959
  CHECK(length("7/8 in") == 22.225);
  CHECK(length("5 7/8\"") == 149.225);
  CHECK(length("-3") == -3);
  CHECK(length("-1 1/2 in") == -38.1);
  CHECK(length("0,125 in") == 3.175);
  CHECK(length("50 um") == 0.05);
  CHECK(length("20 CM") == 200);
  CHECK(parse_measured_value("0.08 mm", Quantity::small_length).value == 80);
  CHECK(parse_measured_value("1.65 kg", Quantity::mass).value == 1650);
  CHECK(parse_measured_value("212 F", Quantity::temperature).value == 100);
  CHECK(parse_measured_value("90 \xc2\xb0"
                             "C",
                             Quantity::temperature)
            .value == 90);
  for (const char* bad :
       {"", "mm", "1,250", "1.2.3", "1/0", "3 kg", "1 2", "inf", "0x10", "--3", "1,2,3", "99999999999999999999e999"}) {
    INFO(bad);
    CHECK_FALSE(parse_measured_value(bad, Quantity::length).ok);
    CHECK(!parse_measured_value(bad, Quantity::length).complaint.empty());
  }
}

TEST_CASE("straightedge: radius against the circle's own sagitta", "[interview]") {
  // s = R - sqrt(R^2 - (c/2)^2), the definition; 1e-9 relative covers the cancellation at these sizes.
  for (double radius : {500.0, 2600.0, 20000.0}) {
    for (double chord : {150.0, 250.0}) {
      const double sagitta = radius - std::sqrt(radius * radius - chord * chord / 4);
      CHECK(radius_from_straightedge(chord, sagitta) == Approx(radius).epsilon(1e-9));
    }
  }
  CHECK(radius_from_straightedge(200, 2) == 2501);
}

TEST_CASE("straightedge: shapes and the saddle", "[interview]") {
  // 200 mm; curvature uncertainty 8 * 0.03 / 200^2 = 6e-6 /mm, so gaps differ when 0.085 mm apart or more.
  const StraightedgeDome sphere = dome_from_straightedge({200, 2, 200, 2, 200, 2, 2});
  CHECK(sphere.shape == "sphere");
  CHECK(sphere.radius_mm == 2501);
  CHECK(sphere.warning.empty());
  const StraightedgeDome near = dome_from_straightedge({200, 2, 200, 2.05, 200, 2, 2.05});
  CHECK(near.shape == "sphere");
  CHECK_FALSE(near.saddle);
  const StraightedgeDome two = dome_from_straightedge({200, 2, 200, 1, 200, 1.5, 1.5});
  CHECK(two.shape == "two_radius");
  CHECK(two.radius_x_mm == 2501);
  CHECK(two.radius_y_mm == 5001);  // 200^2 / 8 + 0.5 = 5000.5
  CHECK_FALSE(two.saddle);
  const StraightedgeDome roll = dome_from_straightedge({200, 0, 200, 2, 200, 1, 1});
  CHECK(roll.shape == "cylinder");
  CHECK(roll.axis == "x");
  CHECK(roll.radius_mm == 2501);
  CHECK(dome_from_straightedge({200, 2, 200, 0, 200, 1, 1}).axis == "y");
  const StraightedgeDome hidden = dome_from_straightedge({200, 0, 200, 0, 200, 0.4, 0});
  CHECK(hidden.shape == "flat");
  CHECK(hidden.saddle);
  CHECK_THAT(hidden.warning, Catch::Contains("diagonals disagree"));
}

TEST_CASE("interview: a twisted sheet is said so and noted in the kit", "[interview]") {
  Script script = typical();
  script["gap-d2"] = "1";
  Interview interview = answered_until("gap-d2", script);
  CHECK_THAT(take_answer(interview, "1").remark, Catch::Contains("diagonals disagree"));
  const Json kit = document(answered(script));
  CHECK_THAT(kit["frame"]["dome"]["note"].get<std::string>(), Catch::Contains("twisted"));
}

TEST_CASE("interview: an unfinished interview makes no kit", "[interview]") {
  const Interview interview = answered_until("gap-x", typical());
  CHECK_THROWS_AS(kit_document(interview.answers), Error);
}
