#include "checks/ways_bench.h"

#include <algorithm>

namespace bedwright {

Made made(const Settings& settings, const std::string& name) {
  Made m;
  m.kit = read_kit_file(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json", settings);
  m.layout = settle(m.kit);
  m.parts = keyed_parts(m.kit, m.layout);
  m.ways = wrong_ways(m.kit, m.layout, m.parts);
  return m;
}

std::vector<Finding> findings_of(const Made& m) {
  Known known{m.kit, m.layout, {}, {}, m.ways};
  for (const Part& part : m.parts) known.parts.push_back({&part, nullptr, nullptr, {}, 0});
  std::vector<Finding> findings;
  check_wrong_ways(known, findings);
  check_key(known, findings);
  check_mark_truth(known, findings);
  return findings;
}

int count(const std::vector<Finding>& findings, const std::string& code) {
  return int(std::count_if(findings.begin(), findings.end(), [&](const Finding& f) { return f.code == code; }));
}

const WrongWay* find(const std::vector<WrongWay>& ways, const std::string& placement, int turn, bool flipped,
                     const std::string& as) {
  for (const WrongWay& w : ways)
    if (w.placement == placement && w.turn_deg == 90.0 * turn && w.flipped == flipped && w.as == as) return &w;
  return nullptr;
}

Setting holes(const std::vector<Vec2>& offsets, bool mirrored, double half_spacing) {
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

Setting dome(const std::string& shape, double radius, Vec2 apex, const std::string& crown) {
  Json d{{"shape", shape}};
  if (shape != "flat") d.update({{"radius_mm", radius}, {"crown", crown}, {"apex_mm", {apex.x, apex.y}}});
  return {"/frame/dome", d.dump()};
}

Settings operator+(Settings a, const Setting& b) {
  a.push_back(b);
  return a;
}

}  // namespace bedwright
