// Kits varied in a line, with their parts and wrong ways, for the tests of these.
#pragma once

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

Made made(const Settings& settings, const std::string& name = "north-bench");

std::vector<Finding> findings_of(const Made& m);
int count(const std::vector<Finding>& findings, const std::string& code);
const WrongWay* find(const std::vector<WrongWay>& ways, const std::string& placement, int turn, bool flipped,
                     const std::string& as = "");

/// Holes at carriage + each offset, the same at all four carriages of north-bench (150 x 90) or mirrored outward.
Setting holes(const std::vector<Vec2>& offsets, bool mirrored = false, double half_spacing = 45);
Setting dome(const std::string& shape, double radius = 0, Vec2 apex = {}, const std::string& crown = "up");

inline const Setting no_mark{"/parts/0/mark", "false"};
inline const Setting no_boss{"/parts/0/boss_height_mm", "0"};
// Long screws fit and are at hand, so that they reach through a flipped plate.
inline const Setting deep_thread{"/carriages/thread_depth_mm", "9"};
inline const Setting long_screws{"/stock", R"([{"thread": "M3", "lengths_mm": [10]}])"};
inline const std::vector<Vec2> even = {{24, 10}, {-24, -10}};

Settings operator+(Settings a, const Setting& b);

}  // namespace bedwright
