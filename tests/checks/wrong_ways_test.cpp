// Wrong ways against closed forms, against a brute-force referee on many kits, and the findings that follow.
#include "checks/wrong_ways.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <tuple>

#include "base/error.h"
#include "base/trig.h"
#include "checks/checks.h"
#include "checks/line_up.h"
#include "checks/mark_truth.h"
#include "checks/offered.h"
#include "kit/read_kit.h"
#include "ways_bench.h"
#include "ways_referee.h"

using namespace bedwright;

TEST_CASE("a symmetrical pattern under an off-centre dome gives the one sentence", "[wrong_ways]") {
  const Vec2 apex{14, -9.5};
  const double R = 2600;
  const Made m = made({holes(even), dome("sphere", R, apex), no_mark});
  REQUIRE(m.parts.size() >= 4);
  const WrongWay* way = find(m.ways, "front-left", 2, false);
  REQUIRE(way);
  CHECK(way->bolts_up);
  // Closed form: the turned seat is the same sphere about the apex turned by 180 degrees. The sheet stands above it by
  // D(p) = z(p) - z(-p), odd in p, so the largest gap is twice the greatest D over the outline, which is symmetrical.
  const Vec2 a = apex - Vec2{-75, -45};
  double most = 0;
  const Loop outline = m.layout.plates[0].outline;
  for (Vec2 p : polygonised(outline, 1e-4)) {
    const Vec2 q = p - a, r = -p - a;
    most = std::max(most, std::sqrt(R * R - dot(q, q)) - std::sqrt(R * R - dot(r, r)));
  }
  CHECK(way->seat_gap_mm == Approx(2 * most).margin(2e-3));
  CHECK_THAT(way->consequence, Catch::StartsWith("adapter-a turned by 180 deg at front-left bolts up: "));
  CHECK_THAT(way->consequence, Catch::Contains("mm of gap at the "));
  // The seat falls away from the apex; turned, it is thin where it should be thick: towards the apex, to the right.
  CHECK(way->where.x > -75);
  const std::vector<Finding> findings = findings_of(m);
  CHECK(count(findings, "wrong-way-unmarked") == 4);
  CHECK(count(findings, "wrong-way-marked") == 0);
}

TEST_CASE("the same kit with holes that are not symmetrical has no wrong way that bolts up", "[wrong_ways]") {
  const Made m = made({holes({{24, 10}, {-20, -14}}), dome("sphere", 2600, {14, -9.5}), no_mark});
  CHECK(std::none_of(m.ways.begin(), m.ways.end(),
                     [](const WrongWay& w) { return w.part == w.offered() && w.bolts_up; }));
  CHECK(find(m.ways, "front-left", 2, false)->blocked_by == "frame-holes");
  CHECK(find(m.ways, "front-left", 1, false)->blocked_by == "carriage-holes");
}

TEST_CASE("a marked plate that fits the wrong way is a warning", "[wrong_ways]") {
  const Made m = made({holes(even), dome("sphere", 2600, {14, -9.5})});
  for (const Part& part : m.parts)
    if (!part.placements.empty()) REQUIRE(part.visible_mark);
  const std::vector<Finding> findings = findings_of(m);
  CHECK(count(findings, "wrong-way-marked") == 4);
  CHECK(count(findings, "wrong-way-unmarked") == 0);
  CHECK_THAT(find(m.ways, "front-left", 2, false)->consequence,
             Catch::Contains("arrow then points away from the machine's"));
}

TEST_CASE("a difference below 0.2 mm is said, and is no error", "[wrong_ways]") {
  // About 4 x 38 x 87 / R: 0.13 mm at R = 100 m, below the harmless 0.02 mm at R = 800 m.
  const Made slight = made({holes(even), dome("sphere", 100000), no_mark});
  CHECK(count(findings_of(slight), "wrong-way-slight") > 0);
  CHECK(count(findings_of(slight), "wrong-way-unmarked") == 0);
  const Made none = made({holes(even), dome("sphere", 900000), no_mark});
  CHECK(findings_of(none).empty());
}

TEST_CASE("a flat, fully symmetrical plate has no wrong way that matters", "[wrong_ways]") {
  const Made m = made({holes({{24, 10}, {-24, -10}, {24, -10}, {-24, 10}}), dome("flat"), no_mark});
  REQUIRE(m.layout.plates.size() == 4);
  CHECK(find(m.ways, "front-left", 2, false) == nullptr);  // the same solid
  CHECK(std::none_of(m.ways.begin(), m.ways.end(), matters));
  CHECK(findings_of(m).empty());
  // Upside down the screws picked for it end short of the carriage's thread.
  const WrongWay* over = find(m.ways, "front-left", 0, true);
  REQUIRE(over);
  CHECK(over->blocked_by == "screw");
}

TEST_CASE("upside down, bosses or heads hold the frame off", "[wrong_ways]") {
  const Settings flat = {holes(even, true),
                         dome("flat"),
                         no_mark,
                         deep_thread,
                         long_screws,
                         {"/carriages/hole_pitch_mm", "[20, 15]"},
                         {"/parts/0/bottom_chamfer_mm", "0"}};
  // Mirrored pairs: a hand turned over left to right lies on the other hand's holes.
  const auto gap = [](const Made& m) {
    double most = -1;
    for (const WrongWay& w : m.ways)
      if (w.flipped && w.bolts_up) most = std::max(most, w.seat_gap_mm);
    return most;
  };
  CHECK(gap(made(flat + Setting{"/parts/0/boss_height_mm", "4"})) == Approx(4));
  CHECK(gap(made(flat + Setting{"/parts/0/boss_height_mm", "3.5"})) == Approx(3.5));
  // M3 heads of ISO 4762 are 3 mm high and stand on the flat face then.
  CHECK(gap(made(flat + Setting{"/parts/0/boss_height_mm", "2"})) == Approx(3));
  const Made heads = made(flat + Setting{"/parts/0/boss_height_mm", "2"});
  const auto over =
      std::find_if(heads.ways.begin(), heads.ways.end(), [](const WrongWay& w) { return w.flipped && w.bolts_up; });
  REQUIRE(over != heads.ways.end());
  CHECK_FALSE(over->screws_hold);
  CHECK_THAT(over->consequence, Catch::Contains("upside down"));
  CHECK_THAT(over->consequence, Catch::Contains("pulls the inserts out"));
  CHECK_THAT(over->consequence, Catch::Contains("3 mm too high") || Catch::Contains("3 mm of gap"));
}

TEST_CASE("bosses that come over the carriage block", "[wrong_ways]") {
  // Square carriage pattern and frame holes on both diagonals' lines at one distance: turned by 90 degrees the holes
  // meet, and bosses stay beside the carriage; with a long, narrow carriage they do not.
  const double r = 26;
  const Settings square = {holes({{r, 0}, {0, r}, {-r, 0}, {0, -r}}),
                           dome("flat"),
                           no_mark,
                           {"/carriages/hole_pitch_mm", "[18, 18]"},
                           {"/parts/0/slot_mm", "0"}};
  const Made wide = made(square);
  CHECK(std::none_of(wide.ways.begin(), wide.ways.end(),
                     [](const WrongWay& w) { return !w.flipped && w.bolts_up && matters(w); }));
  const Made held = made({holes({{24, 0}, {-24, 0}}),
                          dome("flat"),
                          no_mark,
                          {"/carriages/hole_pitch_mm", "[18, 18]"},
                          {"/parts/0/slot_mm", "0"}});
  CHECK(find(held.ways, "front-left", 1, false)->blocked_by == "frame-holes");
}

TEST_CASE("every listed way names a place, and the worst comes first", "[wrong_ways]") {
  for (const char* name :
       {"north-bench", "tall-bench", "south-bench", "flat-bench", "every-option", "every-option-down"}) {
    CAPTURE(name);
    const Made m = made({}, name);
    REQUIRE_FALSE(m.ways.empty());
    for (std::size_t i = 0; i < m.ways.size(); ++i) {
      const WrongWay& w = m.ways[i];
      CHECK(w.bolts_up == w.blocked_by.empty());
      CHECK_FALSE(w.consequence.empty());
      if (!w.bolts_up) CHECK(w.seat_gap_mm == 0);
      if (i == 0) continue;
      const WrongWay& before = m.ways[i - 1];
      CHECK((before.bolts_up || !w.bolts_up));
      if (w.bolts_up) CHECK(before.worst_mm() >= w.worst_mm() - 1e-4);
    }
    // A demo kit must be fit to be made.
    for (const Finding& f : findings_of(m)) {
      CAPTURE(f.message);
      CHECK(f.severity != Severity::error);
    }
  }
}

TEST_CASE("brute force agrees on what bolts up and by how much it gapes", "[wrong_ways][referee]") {
  std::mt19937 random(20240611);
  const auto between = [&](double low, double high) { return low + (high - low) * (double(random()) / 4294967296.0); };
  const std::vector<std::pair<std::string, Setting>> patterns = {
      {"symmetrical", holes(even)},
      {"nearly symmetrical, within the float", holes({{24, 10}, {-24.15, -10}})},
      {"lopsided", holes({{24, 10}, {-20, -14}})},
      {"mirrored", holes({{23, 0}}, true)},
      {"mirrored, off the axis", holes({{23, 12}}, true)},
      {"four holes", holes({{24, 10}, {-24, -10}, {24, -10}, {-24, 10}})},
  };
  const std::vector<Setting> domes = {dome("flat"), dome("sphere", 2600), dome("sphere", 1400, {14, -9.5}),
                                      dome("sphere", 1900, {-20, 6}, "down"), dome("cylinder", 2200, {5, 0})};
  const std::vector<Settings> options = {
      {{"/parts/0/boss_height_mm", "4"}},
      {no_boss, {"/parts/0/thickness_mm", "7"}, {"/parts/0/insert", "m4-short"}},
      {{"/parts/0/boss_side", "up"}, {"/parts/0/thickness_mm", "9"}, {"/parts/0/boss_height_mm", "3"}},
      {{"/parts/0/seat", "pads"}, {"/parts/0/thickness_mm", "8"}},
      {{"/parts/0/slot_mm", "0"}, {"/carriages/hole_pitch_mm", "[18, 18]"}},
  };
  int kits = 0, ways = 0, up = 0, undecided = 0;
  for (const auto& [name, pattern] : patterns)
    for (const Setting& dome_setting : domes) {
      Settings settings = options[(kits + kits / int(domes.size())) % int(options.size())];
      settings.insert(settings.end(), {pattern, dome_setting, no_mark});
      if (kits % 2) settings.insert(settings.end(), {deep_thread, long_screws});
      settings.push_back({"/parts/0/margin_mm", std::to_string(between(3.5, 5))});
      CAPTURE(name, dome_setting.second, kits);
      Made m;
      try {
        m = made(settings);
      } catch (const Error& e) {
        FAIL(e.what());
      }
      ++kits;
      for (const RefereeWay& r : referee_ways(m.kit, m.layout, m.parts)) {
        CAPTURE(r.part, r.placement, r.as, r.turn, r.flipped);
        const WrongWay* way = find(m.ways, r.placement, r.turn, r.flipped, r.as);
        ++ways;
        if (r.same) {
          CHECK_FALSE(way);
          continue;
        }
        REQUIRE(way);
        if (r.undecided) {
          ++undecided;
          continue;
        }
        CAPTURE(way->consequence);
        CHECK(way->bolts_up == r.bolts_up);
        if (!way->bolts_up || !r.bolts_up) continue;
        ++up;
        CHECK(way->seat_gap_mm == Approx(r.gap_mm).margin(0.01));
        // First contact lies anywhere between the referee's columns, 1.2 mm apart, on slopes up to 0.035 each way.
        CHECK(way->height_change_mm == Approx(r.height_change_mm).margin(0.042));
      }
    }
  CHECK(kits >= 30);
  CHECK(up > 100);
  CHECK(undecided * 20 < ways);
  INFO(kits << " kits, " << ways << " ways, " << up << " bolt up, " << undecided << " undecided");
}

TEST_CASE("holes line up within their float", "[wrong_ways]") {
  // Fixed fastener: (D - d) / 2 in each hole.
  const auto pair = [](double apart, double play) {
    return std::vector<Fit>{{{-10, 0}, {-10 - apart / 2, 0}, play, 0, {1, 0}},
                            {{10, 0}, {10 + apart / 2, 0}, play, 0, {1, 0}}};
  };
  CHECK(lines_up(pair(0.4, 0.2)));
  CHECK_FALSE(lines_up(pair(0.402, 0.2)));
  // A shift of all screws costs nothing.
  std::vector<Fit> shifted = pair(0, 0.01);
  for (Fit& f : shifted) f.screw = f.screw + Vec2{3, -2};
  CHECK(lines_up(shifted));
  CHECK(off_by(shifted) == Approx(std::sqrt(13.0) - 0.01));
  // Nor does a small turn: 0.01 rad at 10 mm is 0.1 mm.
  CHECK(lines_up({{{-10, 0}, {-10, -0.1}, 0.001, 0, {1, 0}}, {{10, 0}, {10, 0.1}, 0.001, 0, {1, 0}}}));
  // A slot takes its extra length, half each way, along itself only.
  CHECK(lines_up({{{0, 0}, {0.7, 0}, 0.2, 1, {1, 0}}, {{0, 9}, {0, 9}, 0, 0, {1, 0}}, {{5, 9}, {5, 9}, 0, 0, {1, 0}}}));
  CHECK_FALSE(
      lines_up({{{0, 0}, {0.71, 0}, 0.2, 1, {1, 0}}, {{0, 9}, {0, 9}, 0, 0, {1, 0}}, {{5, 9}, {5, 9}, 0, 0, {1, 0}}}));
  CHECK_FALSE(
      lines_up({{{0, 0}, {0, 0.7}, 0.2, 1, {1, 0}}, {{0, 9}, {0, 9}, 0, 0, {1, 0}}, {{5, 9}, {5, 9}, 0, 0, {1, 0}}}));
  CHECK(lines_up({}));
}

namespace {

void turn_marks(Part& part, const Transform& t) {
  for (Feature& f : part.features)
    if (f.kind == FeatureKind::mark)
      for (Loop& loop : f.profile) loop = transformed(loop, t);
}

Part& first_plate(Made& m) {
  return *std::find_if(m.parts.begin(), m.parts.end(), [](const Part& p) { return p.family == "adapter_plate"; });
}

}  // namespace

TEST_CASE("marks of the demo kits can be seen, read and believed", "[wrong_ways][mark]") {
  for (const char* name : {"north-bench", "tall-bench", "south-bench", "flat-bench", "every-option"}) {
    CAPTURE(name);
    Made m = made({}, name);
    m.ways.clear();
    for (const Finding& f : findings_of(m)) {
      CAPTURE(f.message);
      CHECK((f.code.empty() || f.code == "mark-no-arrow"));
    }
  }
}

TEST_CASE("a mirrored mark is found", "[wrong_ways][mark]") {
  Made m = made({});
  Part& part = first_plate(m);
  REQUIRE(part.visible_mark);
  CHECK(mark_mirrored(part).empty());
  Transform mirror;
  mirror.m[5] = -1;
  turn_marks(part, mirror);
  CHECK_FALSE(mark_mirrored(part).empty());
  CHECK(count(findings_of(m), "mark-mirrored") == 1);
  // Mirrored twice it is only turned.
  mirror.m[5] = 1;
  mirror.m[0] = -1;
  turn_marks(part, mirror);
  CHECK(mark_mirrored(part).empty());
}

TEST_CASE("an arrow that points elsewhere is found", "[wrong_ways][mark]") {
  Made m = made({});
  Part& part = first_plate(m);
  const auto arrow = arrow_of(part);
  REQUIRE(arrow);
  // North-bench's plates serve two places each, front-left first: their arrow points to the centre, (75, 45).
  CHECK(arrow->x == Approx(75 / std::sqrt(75. * 75 + 45 * 45)).margin(1e-6));
  CHECK(arrow->y == Approx(45 / std::sqrt(75. * 75 + 45 * 45)).margin(1e-6));
  CHECK(mark_false(m.layout, part).empty());
  turn_marks(part, turn_about_z(0.5 * rad_per_deg));
  CHECK(mark_false(m.layout, part).empty());
  turn_marks(part, turn_about_z(1.5 * rad_per_deg));
  CHECK(count(findings_of(m), "mark-false") == 1);
  Made swapped = made({});
  Part& other = first_plate(swapped);
  other.quarter_turns.back() = (other.quarter_turns.back() + 2) % 4;
  CHECK_THAT(mark_false(swapped.layout, other), Catch::StartsWith("at rear-right"));
}

TEST_CASE("a mark that something covers is found", "[wrong_ways][mark]") {
  Made m = made({});
  Part& part = first_plate(m);
  CHECK(mark_hidden(m.kit, m.layout, {&part}, part).empty());
  const auto mark = std::find_if(part.features.begin(), part.features.end(),
                                 [](const Feature& f) { return f.kind == FeatureKind::mark; });
  REQUIRE(mark != part.features.end());
  const Feature seen = *mark;
  mark->to = Bound::at(2);
  mark->from = Bound::open();
  CHECK(count(findings_of(m), "mark-hidden") == 1);
  *mark = seen;
  // Under a screw head.
  const auto hole = std::find_if(part.features.begin(), part.features.end(),
                                 [](const Feature& f) { return f.id == "carriage-hole-1"; });
  const Vec2 by = Vec2{hole->at.x + 2.6, hole->at.y} - Vec2{mark->at.x, mark->at.y};
  for (Loop& loop : mark->profile) loop = transformed(loop, shift({by.x, by.y, 0}));
  CHECK_FALSE(mark_hidden(m.kit, m.layout, {&part}, part).empty());
  // Under another plate: adapter-b's outline drawn 150 mm further left, and 1 mm higher.
  *mark = seen;
  Made crowded = made({});
  Part& first = first_plate(crowded);
  Part& other = *std::find_if(crowded.parts.begin(), crowded.parts.end(), [](const Part& p) { return p.id == "adapter-b"; });
  CHECK(mark_hidden(crowded.kit, crowded.layout, {&first, &other}, first).empty());
  other.features.front().profile = {transformed(other.features.front().profile.front(), shift({-150, 0, 0}))};
  other.seat.height += 10;
  CHECK_THAT(mark_hidden(crowded.kit, crowded.layout, {&first, &other}, first), Catch::Contains("lies under adapter-b at "));
}

namespace {

/// North-bench with a tapered shim under each plate instead of its loose parts.
Settings wedge(const std::string& settings) {
  return {{"/parts/1", R"({"id": "wedge", "family": "shim", "thickness_mm": 1.2, "placements": ["front-left",
           "front-right", "rear-left", "rear-right"], )" +
                           settings + "}"}};
}

const WrongWay* wedge_way(const Made& m, int turn, bool flipped) {
  for (const WrongWay& w : m.ways)
    if (w.part == "wedge" && w.placement == "front-left" && w.turn_deg == 90.0 * turn && w.flipped == flipped)
      return &w;
  return nullptr;
}

}  // namespace

TEST_CASE("a tapered shim turned or turned over parts the faces by closed form", "[wrong_ways][wedge]") {
  // 10 um/mm to the right over the carriage's face, 27 x 34.7 mm: half a turn doubles the slope between the faces.
  const Made m = made(wedge(R"("outline": "carriage", "taper_um_per_mm": 10)"));
  const WrongWay* half = wedge_way(m, 2, false);
  REQUIRE(half);
  CHECK(half->bolts_up);
  const double width = m.kit.carriages.size.width_mm;
  CHECK(half->seat_gap_mm == Approx(0.02 * width).margin(1e-3));
  CHECK(half->height_change_mm == Approx(0.01 * width).margin(1e-3));
  CHECK(half->tilt_deg == Approx(std::atan(0.02) / rad_per_deg).margin(1e-6));
  CHECK_THAT(half->consequence,
             Catch::Contains("turned by 180 deg at front-left goes on") && Catch::Contains(" mm of gap at the "));
  // A quarter meets no thread: the holes are 20 x 15 apart.
  CHECK(wedge_way(m, 1, false)->blocked_by == "holes");
  // Over left to right the thick end changes sides; and half a turn brings it back.
  CHECK(wedge_way(m, 0, true)->seat_gap_mm == Approx(half->seat_gap_mm));
  CHECK(wedge_way(m, 2, true) == nullptr);
  // Along Y a turn over left to right changes nothing.
  const Made along = made(wedge(R"("outline": "carriage", "taper_um_per_mm": 10, "taper_toward_deg": 90)"));
  CHECK(wedge_way(along, 0, true) == nullptr);
  CHECK(wedge_way(along, 2, true) != nullptr);
  CHECK(wedge_way(made(wedge(R"("outline": "carriage")")), 2, false) == nullptr);
}

TEST_CASE("brute force agrees on wedges", "[wrong_ways][wedge][referee]") {
  int kits = 0;
  for (const char* outline : {R"("outline": "carriage")", R"("outline": "ring", "outer_mm": 16, "hole_mm": 4.5)",
                              R"("outline": "rectangle", "size_mm": [20, 20], "hole_mm": 4.5)",
                              R"("outline": "horseshoe", "outer_mm": 18, "hole_mm": 4.5)"})
    for (int toward : {0, 35, 90, 200, 315}) {
      const Made m =
          made(wedge(std::string(outline) + R"(, "notches": false, "taper_um_per_mm": 12, "taper_toward_deg": )" +
                     std::to_string(toward)));
      const Part& part = *std::find_if(m.parts.begin(), m.parts.end(), [](const Part& p) { return p.id == "wedge"; });
      ++kits;
      for (bool over : {false, true})
        for (int turn = 0; turn < 4; ++turn) {
          if (!over && turn == 0) continue;
          CAPTURE(outline, toward, over, turn);
          const WrongWay* way = wedge_way(m, turn, over);
          const double gap = referee_wedge_gap(part, over, turn);
          if (!way) {
            CHECK(gap < 1e-3);
            continue;
          }
          if (way->bolts_up) CHECK(way->seat_gap_mm == Approx(gap).margin(0.02));
        }
    }
  CHECK(kits == 20);
}

TEST_CASE("a plate turned over comes to rest out of level by the dome's slope at the carriage", "[wrong_ways][tilt]") {
  // Samples of a bulge z = -(x - a)^2 / (2 R) come to rest on the tangent plane under the middle: slope a / R along x.
  std::vector<Vec2> at;
  std::vector<double> below;
  for (double x = -13; x <= 13; x += 0.25)
    for (double y = -17; y <= 17; y += 0.5) {
      at.push_back({x, y});
      below.push_back(-((x - 75) * (x - 75) + (y - 45) * (y - 45)) / 5200);
    }
  const Vec2 rest = resting_tilt(at, below);
  CHECK(rest.x == Approx(75 / 2600.).margin(1e-4));
  CHECK(rest.y == Approx(45 / 2600.).margin(1e-4));
  // A dish rests on its rim: the chord's slope, which by symmetry is the middle's.
  for (double& z : below) z = -z;
  const Vec2 rim = resting_tilt(at, below);
  CHECK(rim.x == Approx(-75 / 2600.).margin(1e-4));
  CHECK(rim.y == Approx(-45 / 2600.).margin(1e-4));
  // On two boss tops 20 apart, 1 higher at the right: the line between them decides, and across it nothing does.
  const Vec2 bosses = resting_tilt({{-10, 0}, {10, 0}, {0, 9}, {0, -9}}, {0, 1, 0.5, 0.5});
  CHECK(bosses.x == Approx(0.05).margin(1e-5));
  CHECK(std::fabs(bosses.y) < 1e-5);
}

TEST_CASE("a spacer with six holes in a circle bolts up at every sixth of a turn", "[wrong_ways][angles]") {
  std::string list;
  for (int i = 0; i < 6; ++i) {
    const double a = pi / 3 * i;
    list += std::string(i ? "," : "") + "{\"at_mm\": [" + std::to_string(9 * std::cos(a)) + "," +
            std::to_string(9 * std::sin(a)) + "], \"diameter_mm\": 3.4}";
  }
  const auto spacer = [](const std::string& holes) {
    return Settings{{"/parts/1", R"({"id": "block", "family": "spacer", "thickness_mm": 6, "shape": "round",
      "outer_mm": 26, "seat": "frame", "mark": false,
      "placements": ["front-left", "front-right", "rear-left", "rear-right"], "holes": [)" +
                                     holes + "]}"}};
  };
  const auto turns = [](const Made& m) {
    std::vector<double> found;
    for (const WrongWay& w : m.ways)
      if (w.part == "block-a" && w.placement == "front-left" && !w.flipped && w.as.empty() && w.bolts_up)
        found.push_back(w.turn_deg);
    std::sort(found.begin(), found.end());
    return found;
  };
  const std::vector<double> found = turns(made(spacer(list)));
  REQUIRE(found.size() == 5);
  for (int i = 0; i < 5; ++i) CHECK(found[std::size_t(i)] == Approx(60.0 * (i + 1)).margin(1e-3));
  // The greatest gap of a tilted face turned by t: 2 sin(t/2) slope, over the diameter, rim to rim.
  const Made m = made(spacer(list));
  for (const WrongWay& w : m.ways)
    if (w.part == "block-a" && w.placement == "front-left" && !w.flipped && w.as.empty() && w.bolts_up) {
      const double slope = std::sqrt(75. * 75 + 45 * 45) / 2600;
      CHECK(w.seat_gap_mm == Approx(2 * std::sin(w.turn_deg * rad_per_deg / 2) * slope * 26).epsilon(0.03));
    }
  // Three unevenly spaced holes admit no turn.
  CHECK(turns(made(spacer(R"({"at_mm": [9, 0], "diameter_mm": 3.4}, {"at_mm": [-2, 8], "diameter_mm": 3.4},
                             {"at_mm": [-4, -7], "diameter_mm": 3.4})")))
            .empty());
}

TEST_CASE("a part of another revision is tried in this one's place", "[wrong_ways][revision]") {
  const Made now = made({{"/revision", "B"}, {"/frame/dome/radius_mm", "1800"}});
  const Made then = made({});
  const auto findings = [&](const Made& before) {
    Known known{now.kit, now.layout, {}, {}, {}};
    known.old_ways = old_ways(now.kit, now.layout, now.parts, {before.kit.revision, before.parts});
    std::vector<Finding> list;
    check_old_revision(known, list);
    return list;
  };
  const std::vector<Finding> old = findings(then);
  REQUIRE(count(old, "old-revision") == 2);
  CHECK(old.front().severity == Severity::warning);
  CHECK_THAT(old.front().message, Catch::Contains("of revision A at ") && Catch::Contains("mm of gap"));
  // Sagitta over the plate differs: c^2 / 8 (1 / 1800 - 1 / 2600), with a tilt besides that the screws do not take out.
  CHECK(old.front().value > 0.2);
  CHECK(findings(now).empty());
}
