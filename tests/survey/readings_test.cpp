// Straightedge and three-leg readings against tables and against each other.
#include "survey/readings.h"

#include <catch2/catch.hpp>

#include "base/error.h"
#include "kit/csv.h"
#include "kit/straightedge.h"
#include "survey/random.h"

using namespace bedwright;

namespace {

std::string message_of(const std::vector<StraightedgeReading>& edges, const std::vector<ThreeLegReading>& legs = {}) {
  try {
    survey_readings(edges, legs, {});
  } catch (const Error& e) {
    return e.what();
  }
  return "accepted";
}

double after(const std::string& inputs, const std::string& name) {
  return std::stod(inputs.substr(inputs.find(name + "=") + name.size() + 1));
}

}  // namespace

TEST_CASE("readings: chord, sagitta and radius of the table", "[survey][reference]") {
  int held = 0;
  for (const CsvRow& row : read_reference("chord_sagitta")) {
    if (row.at("quantity") != "radius_from_chord_sagitta") continue;
    const double c = after(row.at("inputs"), "c"), s = after(row.at("inputs"), "s"), r = std::stod(row.at("value"));
    const Survey survey = survey_readings({{c, s, "x"}}, {}, {});
    CHECK(survey.radius_mm == Approx(r).epsilon(1e-11));
    CHECK(radius_from_straightedge(c, s) == Approx(r).epsilon(1e-11));
    // Propagated: dR/ds = -c^2 / (8 s^2) + 1/2 with the feeler's 0.03 mm, dR/dc = c / (4 s) with 0.5 mm.
    const double by_gap = (0.5 - c * c / (8 * s * s)) * 0.03, by_length = c / (4 * s) * 0.5;
    CHECK(survey.radius_u_mm == Approx(std::sqrt(by_gap * by_gap + by_length * by_length)).epsilon(1e-6));
    ++held;
  }
  CHECK(held == 5);
}

TEST_CASE("readings: three forms of the three-leg law agree", "[survey]") {
  // R = r^2 / (2 s) + s / 2 = d^2 / (6 s) + s / 2 with the legs d = r sqrt 3 apart; and the cap itself: s = R -
  // sqrt(R^2 - r^2).
  for (double r : {30.0, 60.0, 88.9})
    for (double radius : {254.0, 2600.0, 20000.0}) {
      const double s = r * r / (radius + std::sqrt(radius * radius - r * r));
      CHECK(radius_from_three_legs({2 * r, s, 0}) == Approx(radius).epsilon(1e-12));
      const double d = r * std::sqrt(3.0);
      CHECK(d * d / (6 * s) + s / 2 == Approx(radius).epsilon(1e-12));
    }
  // Ball feet of radius b rest with their centres on R + b outside, on R - b inside.
  const double R = 1000, b = 3, r = 50;
  const double out = (R + b) - std::sqrt((R + b) * (R + b) - r * r),
               in = (R - b) - std::sqrt((R - b) * (R - b) - r * r);
  CHECK(radius_from_three_legs({2 * r, out, b}) == Approx(R).epsilon(1e-9));
  CHECK(radius_from_three_legs({2 * r, -in, b}) == Approx(R).epsilon(1e-9));
  // Published tolerance case: R = 10 in, r = 3.5 in, 0.02 % of R needs 0.00013 to 0.00015 in of the reading.
  const double s = 10 - std::sqrt(100 - 3.5 * 3.5);
  const double ds = std::fabs((10.002 - std::sqrt(10.002 * 10.002 - 3.5 * 3.5)) - s);
  CHECK((ds > 0.00012 && ds < 0.00015));
}

TEST_CASE("readings: shapes from four directions", "[survey]") {
  const auto shape = [](double x, double y, double d1, double d2) {
    return survey_readings({{200, x, "x"}, {200, y, "y"}, {280, d1, "d1"}, {280, d2, "d2"}}, {}, {});
  };
  // A sphere of radius R has the gap c^2 / (8 R) nearly: 2 mm under 200 is 3.92 under 280.
  CHECK(shape(2, 2, 3.92, 3.92).shape == FitShape::sphere);
  CHECK(shape(2, 2, 3.92, 3.92).twist_mm == Approx(0).margin(1e-9));
  CHECK(shape(0, 0, 0, 0).shape == FitShape::flat);
  CHECK(shape(0.02, -0.03, 0.03, 0).shape == FitShape::flat);
  CHECK(shape(2, 0, 1.96, 1.96).shape == FitShape::cylinder);
  CHECK(shape(2, 0, 1.96, 1.96).model.turn_y == 1);
  CHECK(shape(2, 1, 2.94, 2.94).shape == FitShape::two_radius);
  const Survey saddle = shape(0, 0, 1, -1);
  CHECK(saddle.shape == FitShape::saddle);
  // Gap 1 under 280 along d1 is k = 8 / 280^2; twist = -k X Y at X = Y = 100.
  CHECK(*saddle.twist_mm == Approx(-8 / 78400.0 * 1e4).epsilon(1e-3));
  CHECK(shape(2, 2, 4.9, 2.9).shape == FitShape::saddle);
  CHECK(shape(2, -2, 0, 0).shape == FitShape::saddle);
}

TEST_CASE("readings: without diagonals a saddle is not seen, and said so", "[survey]") {
  const Survey edges = survey_readings({{200, 2, "x"}, {200, 2, "y"}}, {}, {});
  CHECK_FALSE(edges.twist_mm.has_value());
  CHECK_FALSE(edges.apex_u.has_value());
  CHECK_FALSE(survey_readings({}, {{100, 0.5, 0}}, {}).twist_mm.has_value());
}

TEST_CASE("readings: repeats make it surer, contradictions less sure", "[survey]") {
  const Survey one = survey_readings({{200, 2, "x"}}, {}, {});
  const Survey four = survey_readings({{200, 2, "x"}, {200, 2.01, "x"}, {200, 1.99, "x"}, {200, 2, "x"}}, {}, {});
  CHECK(four.radius_u_mm == Approx(one.radius_u_mm / 2).epsilon(0.01));
  CHECK(four.freedom == 0);
  const Survey apart = survey_readings({{200, 1.5, "x"}, {200, 2.5, "x"}, {200, 2, "x"}}, {}, {});
  CHECK(apart.freedom == 2);
  CHECK(apart.radius_u_mm > 3 * four.radius_u_mm);
  ReadingOptions down;
  down.crown_up = false;
  CHECK_FALSE(survey_readings({{200, 2, "x"}}, {}, down).crown_up);
}

TEST_CASE("readings: the stated interval holds the truth", "[survey][monte-carlo]") {
  Dice dice(21);
  int held = 0;
  for (int k = 0; k < 1000; ++k) {
    const double R = dice.between(1500, 4000);
    std::vector<StraightedgeReading> edges;
    for (const char* along : {"x", "y", "d1", "d2"}) {
      const double c = 200;
      const double true_c = c + 0.5 * dice.normal();
      edges.push_back({c, R - std::sqrt(R * R - true_c * true_c / 4) + 0.03 * dice.normal(), along});
    }
    const Survey s = survey_readings(edges, {}, {});
    held += std::fabs(s.curvature - 1 / R) <= s.factor * s.curvature_u;
  }
  CHECK(held >= 930);
  CHECK(held <= 975);
}

TEST_CASE("readings: impossible ones say why", "[survey]") {
  CHECK_THAT(message_of({{8, 0.1, "x"}}), Catch::Contains("20 to 3000") && Catch::Contains("inches"));
  CHECK_THAT(message_of({{5000, 0.1, "x"}}), Catch::Contains("20 to 3000"));
  CHECK_THAT(message_of({{40, 20, "x"}}), Catch::Contains("swap"));
  CHECK_THAT(message_of({}, {{10, 0.1, 0}}), Catch::Contains("--leg-circle 1"));
  CHECK_THAT(message_of({}, {{40, 9, 60}}), Catch::Contains("--foot-radius"));
  CHECK_THAT(message_of({}), Catch::Contains("no readings"));
}
