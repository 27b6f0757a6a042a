#include <algorithm>
#include <cmath>
#include <map>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

// Holes nearer than this to a mirrored place count as there; the layout's own test of equal shapes is as fine.
constexpr double same_place_mm = 1e-3;

bool pattern_is_even(const FrameSettings& frame) {
  const auto has = [&](Vec2 p) {
    return std::any_of(frame.holes.begin(), frame.holes.end(), [&](const FrameHole& h) {
      return std::fabs(h.at_mm.x - p.x) < same_place_mm && std::fabs(h.at_mm.y - p.y) < same_place_mm;
    });
  };
  return std::all_of(frame.holes.begin(), frame.holes.end(), [&](const FrameHole& h) {
    return has(-h.at_mm) && has({-h.at_mm.x, h.at_mm.y});
  });
}

std::string cause(const FrameSettings& frame) {
  const Vec2 apex = frame.dome.apex_mm;
  if (frame.dome.shape != "flat" && (apex.x != 0 || apex.y != 0))
    return "the dome's apex is off centre (" + decimal(apex.x, 2) + ", " + decimal(apex.y, 2) + ")";
  if (frame.dome.shape == "measured") return "the measured surface is another one at each of them";
  if (!pattern_is_even(frame)) return "the frame's holes are not evenly placed about the centre";
  return "their settings differ from place to place";
}

}  // namespace

void check_distinct(const Known& known, std::vector<Finding>& findings) {
  std::map<std::string, int> shapes;
  std::map<std::string, std::vector<FindingPlace>> places;
  for (const KnownPart& p : known.parts)
    if (p.part->family == "adapter_plate" && !p.part->placements.empty()) {
      const std::string id = p.part->settings.value("id", p.part->family);
      ++shapes[id];
      for (const std::string& at : p.part->placements) places[id].push_back({p.part->id + " at " + at});
    }
  for (const auto& [id, count] : shapes) {
    if (count < 3) continue;
    findings.push_back(
        {"distinct-parts", Severity::note, "", "",
         id + " becomes " + std::to_string(count) + " different parts, because " + cause(known.kit.frame),
         double(count), 2, "", "keep each with its mark: none fits another's place", places[id]});
  }
}

}  // namespace bedwright
