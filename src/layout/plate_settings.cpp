#include "layout/plate_settings.h"

#include <algorithm>

#include "base/error.h"

namespace bedwright {
namespace {

// A pad reaches this much beyond the insert, both sides together (common practice, no source).
constexpr double pad_over_insert_mm = 6;

double number(const Json& settings, const char* key, double fallback) {
  const auto it = settings.find(key);
  return it != settings.end() && it->is_number() ? it->get<double>() : fallback;
}

std::string text(const Json& settings, const char* key, const std::string& fallback) {
  const auto it = settings.find(key);
  return it != settings.end() && it->is_string() ? it->get<std::string>() : fallback;
}

[[noreturn]] void unknown(const Kit& kit, const PartRequest& request, const char* key, const std::string& value,
                          const std::string& what) {
  throw BadInput("kit " + kit.name,
                 {{request.pointer + "/" + key, value, what + " \"" + value + "\" is in no table", ""}});
}

}  // namespace

PlateSettings plate_settings(const Kit& kit, const PartRequest& request) {
  const Json& j = request.settings;
  PlateSettings s;
  s.thickness_mm = number(j, "thickness_mm", s.thickness_mm);
  s.boss_up = text(j, "boss_side", "down") == "up";
  s.boss_height_mm = number(j, "boss_height_mm", 4);
  s.pads = text(j, "seat", "full") == "pads";
  s.pad_height_mm = number(j, "pad_height_mm", s.pad_height_mm);
  s.slot_mm = number(j, "slot_mm", 0);
  s.slot_along_y = text(j, "slot_axis", "x") == "y";
  if (const auto at = j.find("slot_at"); at != j.end() && at->is_array())
    for (const Json& id : *at) s.slot_at.push_back(id.get<std::string>());
  else if (kit.rails.reference && !s.slot_along_y)
    // The reference rail places the frame across; the other rail's plates float across it.
    for (const char* id : placement_ids)
      if (std::string(id).find(*kit.rails.reference) == std::string::npos) s.slot_at.push_back(id);
  s.margin_mm = number(j, "margin_mm", s.margin_mm);
  s.corner_radius_mm = number(j, "corner_radius_mm", s.corner_radius_mm);
  s.chamfer_mm = number(j, "bottom_chamfer_mm", s.chamfer_mm);
  s.head_cover_mm = number(j, "head_cover_mm", s.head_cover_mm);
  s.mark = j.value("mark", true);

  s.carriage_screw = text(j, "carriage_screw", kit.carriages.size.thread);
  const ThreadSize* thread = find_thread(s.carriage_screw);
  const CapScrew* head = find_cap_screw(s.carriage_screw);
  if (!thread || !head) unknown(kit, request, "carriage_screw", s.carriage_screw, "the screw");
  const std::string fit = text(j, "carriage_hole", "medium");
  s.carriage_hole_mm = clearance_hole_mm(s.carriage_screw, fit);
  if (s.carriage_hole_mm <= 0) unknown(kit, request, "carriage_hole", fit, "the fit");
  s.counterbore_mm = thread->counterbore_mm;
  s.head_height_mm = head->head_height_mm;

  s.frame_screw = text(j, "frame_screw", "M4");
  s.frame_hole_mm = clearance_hole_mm(s.frame_screw, "medium");
  if (s.frame_hole_mm <= 0) unknown(kit, request, "frame_screw", s.frame_screw, "the screw");
  std::string lower = s.frame_screw;
  if (!lower.empty()) lower[0] = 'm';
  const std::string insert = text(j, "insert", lower + "-standard");
  const InsertSize* found = find_insert(insert);
  if (!found) unknown(kit, request, "insert", insert, "the insert");
  s.insert = *found;
  s.boss_diameter_mm = number(j, "boss_diameter_mm", s.insert.boss_mm);
  s.pad_diameter_mm = number(j, "pad_diameter_mm", s.insert.hole_mm + pad_over_insert_mm);
  return s;
}

double slot_extra_mm(const PlateSettings& settings, const std::string& placement) {
  const auto& at = settings.slot_at;
  const bool here = at.empty() || std::find(at.begin(), at.end(), placement) != at.end();
  return here ? settings.slot_mm : 0;
}

bool has_flat_top(const PlateSettings& settings) {
  return settings.boss_up || settings.pads;
}

double flat_top_mm(const PlateSettings& settings) {
  return settings.thickness_mm - (settings.boss_up ? settings.boss_height_mm : settings.pad_height_mm);
}

std::vector<std::string> placements_of(const PartRequest& request) {
  std::vector<std::string> all;
  for (const char* id : placement_ids)
    if (request.placements.empty() ||
        std::find(request.placements.begin(), request.placements.end(), id) != request.placements.end())
      all.push_back(id);
  return all;
}

}  // namespace bedwright
