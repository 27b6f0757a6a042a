// Kits varied in a line, with their parts and wrong ways, for the tests of these.
#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "checks/checks.h"
#include "checks/keyed_parts.h"
#include "kit/read_kit.h"

namespace bedwright {

using Settings = std::vector<Setting>;

struct Made {
  Kit kit;
  Layout layout;
  std::vector<Part> parts;
  std::vector<WrongWay> ways;
};

inline Made made(const Settings& settings, const std::string& name = "north-bench") {
  Made m;
  m.kit = read_kit_file(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json", settings);
  m.layout = settle(m.kit);
  m.parts = keyed_parts(m.kit, m.layout);
  m.ways = wrong_ways(m.kit, m.layout, m.parts);
  return m;
}

inline std::vector<Finding> findings_of(const Made& m) {
  Known known{m.kit, m.layout, {}, {}, m.ways};
  for (const Part& part : m.parts) known.parts.push_back({&part, nullptr, nullptr, {}, 0});
  std::vector<Finding> findings;
  check_wrong_ways(known, findings);
  check_key(known, findings);
  check_mark_truth(known, findings);
  return findings;
}

inline int count(const std::vector<Finding>& findings, const std::string& code) {
  return int(std::count_if(findings.begin(), findings.end(), [&](const Finding& f) { return f.code == code; }));
}

inline const WrongWay* find(const std::vector<WrongWay>& ways, const std::string& placement, int turn, bool flipped,
                            const std::string& as = "") {
  for (const WrongWay& w : ways)
    if (w.placement == placement && w.turn_deg == 90.0 * turn && w.flipped == flipped && w.as == as) return &w;
  return nullptr;
}

/// Holes at carriage + each offset, the same at all four carriages of north-bench (150 x 90) or mirrored outward.
inline Setting holes(const std::vector<Vec2>& offsets, bool mirrored = false, double half_spacing = 45) {
  Json list = Json::array();
  int n = 0;
  for (double y : {-1.0, 1.0})
    for (double x : {-1.0, 1.0})
      for (Vec2 o : offsets) {
        const Vec2 at =
            mirrored ? Vec2{x * (75 + o.x), y * (half_spacing + o.y)} : Vec2{x * 75 + o.x, y * half_spacing + o.y};
        list.push_back({{"id", "h" + std::to_string(++n)}, {"at_mm", {at.x, at.y}}, {"diameter_mm", 4.5}});
      }
  return {"/frame/hole_pattern", Json{{"kind", "listed"}, {"holes", list}}.dump()};
}

inline Setting dome(const std::string& shape, double radius = 0, Vec2 apex = {}, const std::string& crown = "up") {
  Json d{{"shape", shape}};
  if (shape != "flat") d.update({{"radius_mm", radius}, {"crown", crown}, {"apex_mm", {apex.x, apex.y}}});
  return {"/frame/dome", d.dump()};
}

inline const Setting no_mark{"/parts/0/mark", "false"};
inline const Setting no_boss{"/parts/0/boss_height_mm", "0"};
// Long screws fit and are at hand, so that they reach through a flipped plate.
inline const Setting deep_thread{"/carriages/thread_depth_mm", "9"};
inline const Setting long_screws{"/stock", R"([{"thread": "M3", "lengths_mm": [10]}])"};
inline const std::vector<Vec2> even = {{24, 10}, {-24, -10}};

inline Settings operator+(Settings a, const Setting& b) {
  a.push_back(b);
  return a;
}

}  // namespace bedwright
