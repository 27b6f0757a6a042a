#include "checks/driver_access.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/numbers.h"
#include "base/trig.h"
#include "checks/checks.h"
#include "checks/offered.h"
#include "kit/hardware.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

struct HexKey {
  double across_mm, long_arm_mm;
};
constexpr HexKey hex_keys[] = {{1.5, 45}, {2, 50}, {2.5, 56}, {3, 63},
                               {4, 70},   {5, 80}, {6, 90}};  // ISO 2936, from memory
constexpr double free_mm = 0.01;
constexpr int ring = 24;
constexpr double corner_over_flat = 0.57735026918962576;  // half the corners' distance of a hexagon 1 across flats

double long_arm_mm(double across_mm) {
  for (const HexKey& key : hex_keys)
    if (key.across_mm >= across_mm) return key.long_arm_mm;
  return hex_keys[6].long_arm_mm;
}

Vec2 machine(const LyingPlate& plate, Vec2 p) {
  return posed(plate.pose, p) + plate.placement->at;
}

bool through_a_hole(const Kit& kit, Vec2 at, double radius) {
  for (const std::vector<FrameHole>* holes : {&kit.frame.holes, &kit.frame.mounts})
    for (const FrameHole& hole : *holes)
      if (length(hole.at_mm - at) + radius <= hole.diameter_mm / 2) return true;
  return false;
}

/// The keep-outs that leave no position along the rails free, as one clause.
std::string behind_keep_outs(const Kit& kit, const Layout& layout, Vec2 at, double from, double to, double radius) {
  struct Taken {
    double low, high;
    std::string id;
  };
  std::vector<Taken> taken;
  for (const Json& box : kit.keep_outs) {
    const Json &low = box.at("min_mm"), &high = box.at("max_mm");
    const auto n = [](const Json& j, int i) { return j.at(std::size_t(i)).get<double>(); };
    if (at.x + radius <= n(low, 0) || at.x - radius >= n(high, 0) || to <= n(low, 2) || from >= n(high, 2)) continue;
    taken.push_back({n(low, 1) - radius - at.y, n(high, 1) + radius - at.y, box.at("id").get<std::string>()});
  }
  std::stable_sort(taken.begin(), taken.end(), [](const Taken& a, const Taken& b) { return a.low < b.low; });
  const double end = std::max(layout.travel_available_mm, 0.0) / 2;
  double free_from = -end;
  std::string ids;
  for (const Taken& t : taken) {
    if (t.low > free_from) break;
    if (t.high <= free_from) continue;
    free_from = t.high;
    ids += (ids.empty() ? "" : " and ") + t.id;
  }
  return !ids.empty() && free_from > end ? ids + " at every position along the rails" : "";
}

}  // namespace

std::vector<LyingPlate> lying_plates(const Layout& layout, const std::vector<const Part*>& parts) {
  std::vector<LyingPlate> plates;
  for (const Placement& placement : layout.placements)
    for (const Part* part : parts)
      for (std::size_t i = 0; i < part->placements.size() && i < part->quarter_turns.size(); ++i)
        if (part->family == "adapter_plate" && part->placements[i] == placement.id)
          plates.push_back({part, &placement, {part, false, part->quarter_turns[i], 0}, Face(*part, true)});
  return plates;
}

std::optional<double> highest_in(const LyingPlate& plate, Vec2 centre, double radius) {
  std::optional<double> highest;
  const auto take = [&](Vec2 p) {
    const auto z = plate.upper.at(in_part(plate.pose, p - plate.placement->at));
    if (z) highest = highest ? std::max(*highest, *z) : *z;
  };
  take(centre);
  for (int k = 0; k < ring && radius > 0; ++k) {
    const double angle = 2 * pi * k / ring;
    for (double share : {0.5, 1.0}) take(centre + (share * radius) * Vec2{cos_rad(angle), sin_rad(angle)});
  }
  return highest;
}

std::vector<DriverPath> driver_paths(const Kit& kit, const Layout& layout, const std::vector<const Part*>& parts) {
  const std::vector<LyingPlate> plates = lying_plates(layout, parts);
  std::vector<DriverPath> paths;
  for (const LyingPlate& plate : plates) {
    const PlateSettings s = plate_settings(kit, *plate.part);
    const auto add = [&](const HoleSpot& hole, const std::string& thread, bool frame) {
      const CapScrew* head = find_cap_screw(thread);
      if (!head) return;
      DriverPath path;
      path.joint = plate.part->id + "-" + hole.id;
      path.placement = plate.placement->id;
      path.at = machine(plate, hole.at);
      path.fastens_frame = frame;
      const double sheet_top = height_at(layout.underside, path.at) + kit.frame.sheet_thickness_mm;
      const double bearing = frame ? sheet_top : bearing_mm(*plate.part, true, hole.at);
      path.from_mm = bearing + head->head_height_mm;
      path.tool_mm = long_arm_mm(head->key_mm);
      const double to = path.from_mm + path.tool_mm, key = head->key_mm * corner_over_flat;
      // The head itself comes down the same way, through its whole slot.
      const double wide = head->head_diameter_mm / 2;
      for (const LyingPlate& other : plates) {
        const double above = frame ? sheet_top : bearing;
        const auto top = highest_in(other, path.at, wide);
        if (top && *top > above + free_mm) {
          path.blocked =
              (&other == &plate ? std::string("its own plate") : other.part->id + " at " + other.placement->id) +
              " stands " + decimal(*top - above, 2) + " mm over its head's seat";
          break;
        }
      }
      if (path.blocked.empty()) path.blocked = behind_keep_outs(kit, layout, path.at, path.from_mm, to, key);
      const double underside = height_at(layout.underside, path.at);
      path.under_frame = !frame && underside < to && !through_a_hole(kit, path.at, key);
      path.under_bed = kit.bed && std::fabs(path.at.x) - key < kit.bed->size_mm.x / 2 &&
                       std::fabs(path.at.y) - key < kit.bed->size_mm.y / 2;
      paths.push_back(std::move(path));
    };
    for (const HoleSpot& hole : mounting_holes(*plate.part)) add(hole, s.carriage_screw, false);
    for (const Feature& f : plate.part->features) {
      if (f.kind != FeatureKind::clearance_hole) continue;
      const bool insert = std::any_of(plate.part->features.begin(), plate.part->features.end(), [&](const Feature& g) {
        return g.kind == FeatureKind::insert_pocket && g.at.x == f.at.x && g.at.y == f.at.y;
      });
      if (!insert) continue;
      HoleSpot spot;
      spot.id = f.id;
      spot.at = {f.at.x, f.at.y};
      add(spot, s.frame_screw, true);
    }
  }
  return paths;
}

void check_driver(const Known& known, std::vector<Finding>& findings) {
  std::vector<const Part*> parts;
  for (const KnownPart& p : known.parts) parts.push_back(p.part);
  for (const DriverPath& path : driver_paths(known.kit, known.layout, parts)) {
    if (path.blocked.empty()) continue;
    Finding f;
    f.code = "driver-blocked";
    f.severity = Severity::error;
    f.feature = path.joint;
    f.message = "no hex key reaches " + path.joint + " at " + path.placement + " (" + decimal(path.tool_mm, 0) +
                " mm straight above its head): " + path.blocked;
    f.value = path.tool_mm;
    f.unit = "mm";
    f.remedy = "move what is in the way, or the hole; a key's short arm may do where only its reach is short";
    findings.push_back(std::move(f));
  }
}

}  // namespace bedwright
