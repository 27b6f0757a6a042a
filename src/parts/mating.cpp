#include "parts/mating.h"

#include <cmath>
#include <cstdint>
#include <cstring>

#include "base/sha256.h"
#include "layout/bracket_plan.h"
#include "layout/plate_settings.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

constexpr int code_length = 4;
constexpr double um_per_mm = 1000;

std::int64_t um(double mm) {
  return static_cast<std::int64_t>(std::llround(mm * um_per_mm));
}

Json um(Vec2 p) {
  return {um(p.x), um(p.y)};
}

/// Where the sheet's underside lies at the places that decide: over the frame's holes and the carriages.
Json heights_json(const Layout& layout) {
  Json list = Json::array();
  for (const Placement& p : layout.placements) {
    list.push_back(um(height_at(layout.underside, p.at)));
    for (const FrameHole& hole : p.holes) list.push_back(um(height_at(layout.underside, hole.at_mm)));
  }
  return list;
}

Json places_json(const Layout& layout) {
  Json list = Json::array();
  for (const Placement& p : layout.placements) {
    Json holes = Json::array();
    for (const FrameHole& hole : p.holes) holes.push_back({um(hole.at_mm), um(hole.diameter_mm)});
    list.push_back({{"at", um(p.at)}, {"holes", holes}});
  }
  return list;
}

Json plates_json(const Kit& kit, const Layout& layout) {
  Json list = Json::array();
  for (const PartRequest& request : kit.parts) {
    if (request.family != "adapter_plate") continue;
    const PlateSettings s = plate_settings(kit, request);
    list.push_back({{"placements", placements_of(request)},
                    {"screws", {s.carriage_screw, um(head_floor(kit, layout, request).length_mm), s.frame_screw}},
                    {"hole", um(s.carriage_hole_mm)},
                    {"slot", {um(s.slot_mm), s.slot_along_y, s.slot_at}},
                    {"boss_up", s.boss_up},
                    {"pads", s.pads},
                    {"insert", {s.insert.thread, um(s.insert.length_mm)}},
                    {"insert_end", um(s.boss_up ? 0 : -s.boss_height_mm)}});
  }
  return list;
}

Json frame_interface(const Kit& kit, const Layout& layout) {
  const CarriageSize& c = kit.carriages.size;
  return {{"group", "frame"},
          {"height", um(layout.height_mm)},
          {"seat", heights_json(layout)},
          {"places", places_json(layout)},
          {"sheet", um(kit.frame.sheet_thickness_mm)},
          {"carriage",
           {um(c.hole_across_mm), um(c.hole_along_mm), c.thread, um(c.thread_depth_mm), um(c.assembly_height_mm),
            um(c.width_mm), um(c.length_mm)}},
          {"plates", plates_json(kit, layout)}};
}

const PartRequest* request_of(const Kit& kit, const Part& part) {
  for (const PartRequest& request : kit.parts)
    if (request.family == part.family && request.id == part.settings.value("id", part.id)) return &request;
  return nullptr;
}

/// Both halves of a bracket have one: where the rails lie on it, the contour that meets the base, and what joins them.
Json bracket_interface(const Kit& kit, const Layout& layout, const PartRequest& request) {
  const BracketPlan plan = bracket_plan(kit, layout, request);
  Json pads = Json::array(), contour = Json::array();
  for (const BracketPad& pad : plan.pads) {
    Json screws = Json::array();
    for (const double y : pad.screws_y_mm) screws.push_back(um(y));
    pads.push_back({{"x", um(pad.x_mm)}, {"screws", screws}});
  }
  for (const Vec2 p : polygonised(plan.inner, kit.tolerance.chord_mm)) contour.push_back(um(p));
  Json interface = {{"group", "bracket"}, {"height", um(plan.height_mm)}, {"low", um(plan.low_mm)},
                    {"pads", pads},       {"contour", contour},           {"rail_screw", kit.rails.size.screw}};
  for (const char* key : {"split", "split_at_mm", "split_screw", "pin_mm", "screws", "slot_mm"})
    interface[key] = request.settings.value(key, Json());
  if (interface["screws"].is_array())
    for (Json& screw : interface["screws"]) screw.erase("note");
  return interface;
}

Json loose_interface(const Part& part) {
  Json holes = Json::array();
  Json thickness = nullptr;
  for (const Feature& f : part.features) {
    for (const char* quantity : {"thickness", "height"})
      if (const Dimension* d = find_dimension(f, quantity); d && thickness.is_null()) thickness = um(d->nominal_mm);
    if (f.kind != FeatureKind::clearance_hole && f.kind != FeatureKind::slot) continue;
    const Dimension* width = find_dimension(f, "diameter");
    if (!width) width = find_dimension(f, "width");
    holes.push_back({um({f.at.x, f.at.y}), um(width ? width->nominal_mm : 0)});
  }
  return {{"group", "loose"},
          {"family", part.family},
          {"thickness", thickness},
          {"slope", {std::llround(part.seat.slope.x * 1e6), std::llround(part.seat.slope.y * 1e6)}},
          {"holes", holes}};
}

}  // namespace

std::string mating_group(const Part& part) {
  const bool frame = part.family == "adapter_plate" || part.settings.value("seat", std::string()) == "frame";
  return frame ? "frame" : part.settings.value("id", part.id);
}

Json mating_interface(const Kit& kit, const Layout& layout, const Part& part) {
  if (mating_group(part) == "frame") return frame_interface(kit, layout);
  if (part.family == "end_bracket")
    if (const PartRequest* request = request_of(kit, part)) return bracket_interface(kit, layout, *request);
  return loose_interface(part);
}

std::string mating_code(const Kit& kit, const Layout& layout, const Part& part) {
  const std::string digest = sha256(mating_interface(kit, layout, part).dump());
  const std::size_t letters = std::strlen(mating_alphabet);
  std::uint64_t number = std::stoull(digest.substr(0, 15), nullptr, 16);
  std::string code;
  for (int i = 0; i < code_length; ++i, number /= letters) code += mating_alphabet[number % letters];
  return code;
}

}  // namespace bedwright
