// Random kits that a person could have measured: every part is closed, in one piece, outward, and measures right.
#include <catch2/catch.hpp>
#include <iostream>

#include "base/error.h"
#include "gauge/compare.h"
#include "output/write_stl.h"
#include "parts/support.h"
#include "solid/build.h"

using namespace parts_test;

namespace {

constexpr unsigned long long seed = 20261125;
constexpr int kits_wanted = 24;

std::string number(double v) {
  return std::to_string(v);
}

std::string random_dome(Sequence& random, double rail_pitch) {
  const std::string crown = random.one_of<std::string>({"up", "down"});
  const std::string apex =
      "[" + number(random.tenth(-0.2, 0.2) * rail_pitch) + ", " + number(random.tenth(-25, 25)) + "]";
  const std::string rest = R"(, "crown": ")" + crown + R"(", "apex_mm": )" + apex + R"(, "measured_on": ")" +
                           random.one_of<std::string>({"underside", "upper"}) + "\"}";
  switch (static_cast<int>(random.between(0, 4))) {
    case 0:
      return R"({"shape": "flat"})";
    case 1:
      return R"({"shape": "sphere", "radius_mm": )" + number(random.tenth(1500, 9000)) + rest;
    case 2:
      return R"({"shape": "cylinder", "axis": ")" + random.one_of<std::string>({"x", "y"}) + R"(", "radius_mm": )" +
             number(random.tenth(1500, 9000)) + rest;
    default:
      return R"({"shape": "two_radius", "radius_x_mm": )" + number(random.tenth(1500, 6000)) + R"(, "radius_y_mm": )" +
             number(random.tenth(1500, 6000)) + rest;
  }
}

std::vector<Setting> random_settings(Sequence& random) {
  const double pitch = random.tenth(130, 190), spacing = random.tenth(70, 120);
  const double out_x = random.tenth(22, 34), out_y = random.tenth(20, 36);
  const std::string plate = R"([{"id": "adapter", "family": "adapter_plate", "boss_side": ")" +
                            random.one_of<std::string>({"down", "down", "up"}) + R"(", "thickness_mm": )" +
                            number(random.tenth(6.4, 11)) + R"(, "boss_diameter_mm": )" + number(random.tenth(9, 14)) +
                            R"(, "boss_height_mm": )" + number(random.tenth(2.5, 4.4)) + R"(, "slot_mm": )" +
                            number(random.one_of<double>({0, 0, 0.5, 1.5})) + R"(, "slot_axis": ")" +
                            random.one_of<std::string>({"x", "y"}) + R"(", "seat": ")" +
                            random.one_of<std::string>({"full", "full", "pads"}) + R"(", "margin_mm": )" +
                            number(random.tenth(2, 7)) + R"(, "corner_radius_mm": )" + number(random.tenth(1, 9)) +
                            R"(, "bottom_chamfer_mm": )" + number(random.one_of<double>({0, 0.4, 0.8})) + R"(},
        {"id": "riser", "family": "spacer", "thickness_mm": )" +
                            number(random.tenth(2, 20)) + R"(, "outer_mm": )" + number(random.tenth(12, 40)) +
                            R"(, "hole_mm": 4.5, "seat": ")" + random.one_of<std::string>({"flat", "frame"}) +
                            R"(", "placements": ["front-left"]},
        {"id": "shim", "family": "shim", "thickness_mm": )" +
                            number(random.tenth(0.3, 2)) + R"(, "outline": ")" +
                            random.one_of<std::string>({"ring", "horseshoe", "carriage"}) + R"(", "outer_mm": )" +
                            number(random.tenth(13, 30)) + R"(, "hole_mm": )" + number(random.tenth(3.4, 5)) + "}]";
  return {
      {"/rails/pitch_mm", number(pitch)},
      {"/rails/travel_mm", "150"},
      {"/carriages/spacing_mm", number(spacing)},
      {"/frame/hole_pattern/pitch_mm", "[" + number(pitch + 2 * out_x) + ", " + number(spacing + 2 * out_y) + "]"},
      {"/frame/hole_pattern/centre_mm", "[" + number(random.tenth(-1, 1)) + ", " + number(random.tenth(-1, 1)) + "]"},
      {"/frame/dome", random_dome(random, pitch)},
      {"/printer/compensation/hole_mm", number(random.one_of<double>({0, 0.1, 0.2}))},
      {"/printer/compensation/outline_mm", number(random.one_of<double>({0, -0.1, 0.06}))},
      {"/printer/compensation/height_mm", number(random.one_of<double>({0, 0.02}))},
      {"/parts", plate}};
}

std::string told(const std::vector<Setting>& settings) {
  std::string text;
  for (const Setting& s : settings) text += s.first + "=" + s.second + "\n";
  return text;
}

}  // namespace

TEST_CASE(
    "parts: whatever kit a person may measure gives closed parts that measure right, or a refusal with a remedy") {
  INFO("seed " << seed);
  std::cout << "random kits: seed " << seed << ", " << kits_wanted << " kits\n";
  Sequence random(seed);
  int built = 0, refused = 0;
  for (int i = 0; i < kits_wanted; ++i) {
    const std::vector<Setting> settings = random_settings(random);
    INFO("kit " << i << "\n" << told(settings));
    std::vector<Part> parts;
    std::vector<Mesh> solids;
    try {
      parts = parts_of(demo_kit("north-bench", settings));
      for (const Part& p : parts) solids.push_back(build_solid(p));
    } catch (const CannotBuild& e) {
      INFO(e.code << ": " << e.what());
      CHECK_FALSE(e.remedy.empty());
      ++refused;
      continue;
    }
    ++built;
    for (std::size_t k = 0; k < parts.size(); ++k) {
      CAPTURE(parts[k].id);
      const Measurement m = measure(solids[k]);
      CHECK(m.health.closed);
      CHECK(m.health.oriented);
      CHECK(m.health.pieces == 1);
      CHECK(m.health.self_intersections == 0);
      CHECK(m.health.degenerate == 0);
      const Comparison c = compare(m, {&parts[k], &solids[k], {}}, {});
      for (const std::string& words : c.words) UNSCOPED_INFO(words);
      CHECK(c.mistakes.empty());
      int measured = 0;
      for (const MeasuredDimension& d : c.dimensions) {
        if (!d.measured_mm) continue;
        ++measured;
        UNSCOPED_INFO(d.feature << " " << d.quantity << " off by " << d.deviation_mm << ", allowed " << d.tolerance_mm);
        CHECK(d.ok);
      }
      CHECK(measured >= 2);  // a horseshoe: its round and its thickness
    }
  }
  CHECK(built + refused == kits_wanted);
  CHECK(built >= kits_wanted * 2 / 3);  // the property is about parts, not about refusals
}
