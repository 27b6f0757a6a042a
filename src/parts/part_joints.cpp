#include "parts/part_joints.h"

#include <algorithm>

#include "kit/hardware.h"
#include "parts/adapter_plate.h"
#include "parts/end_bracket.h"

namespace bedwright {
namespace {

// What a caliper may be wrong by over its first 150 mm (ISO 13385-1, as tutorials cite it).
constexpr double caliper_mm = 0.03;

const Feature* feature_at(const Part& part, Vec3 at, std::initializer_list<FeatureKind> kinds) {
  for (const Feature& f : part.features)
    if (f.at.x == at.x && f.at.y == at.y && std::find(kinds.begin(), kinds.end(), f.kind) != kinds.end()) return &f;
  return nullptr;
}

double top_mm(const Part& part, Vec2 at) {
  const Bound& top = part.features.front().to;
  return top.kind == Bound::Kind::flat ? top.z_mm : height_at(part.seat, at);
}

Joint started(const Kit& kit, const Part& part, const Feature& hole, const std::string& thread,
              const std::string& purpose) {
  Joint j;
  j.id = part.id + "-" + hole.id;
  j.thread = thread;
  j.stock_mm = stock_lengths_of(kit, thread);
  j.count = part.quantity;
  j.part = part.id;
  j.purpose = purpose;
  j.rules = kit.joint_rules;
  if (j.rules.clamp_limit_by_material) j.rules.clamp_limit_mpa = clamp_limit_mpa(part.material);
  return j;
}

Joint carriage_joint(const Kit& kit, const Part& part, const Feature& hole, const PlateSettings& s) {
  Joint j = started(kit, part, hole, s.carriage_screw, part.id + " to its carriage");
  const Feature* seat = feature_at(part, hole.at, {FeatureKind::counterbore, FeatureKind::counterbore_slot});
  const double bearing = seat ? seat->from.z_mm : top_mm(part, {hole.at.x, hole.at.y});
  j.layers = {{part.id, bearing, kit.joint_rules.printed_plus_minus_mm, true}};
  j.hole_mm = s.carriage_hole_mm;
  j.slot_mm = part.placements.empty() ? 0 : slot_extra_mm(s, part.placements.front());
  j.anchor = {"carriage", kit.carriages.size.thread_depth_mm, true, ""};
  j.behind.what = "the bottom of the carriage's thread";
  return j;
}

Joint frame_joint(const Kit& kit, const Part& part, const Feature& hole, const Feature& pocket,
                  const PlateSettings& s) {
  Joint j = started(kit, part, hole, s.frame_screw, "frame to " + part.id);
  const double insert_near_end = pocket.at.z + s.insert.length_mm;
  j.layers = {{"frame", kit.frame.sheet_thickness_mm, caliper_mm, false},
              {part.id, height_at(part.seat, {hole.at.x, hole.at.y}) - insert_near_end,
               kit.joint_rules.printed_plus_minus_mm, true}};
  j.hole_mm = s.frame_hole_mm;
  // The pocket's axis leads out of the material: up means that the insert went in from the sheet's side.
  j.anchor = {"insert", s.insert.length_mm, false, pocket.axis.z > 0 ? "head" : "far"};
  // The tip comes out beside the carriage, above the face that the rail stands on.
  j.behind.what = "the base under the rails";
  j.behind.clear_mm = std::max(0.0, kit.carriages.size.assembly_height_mm + pocket.at.z);
  return j;
}

/// The bed's screw, through what it stands on into a support plate's standoff. Without the bed's thickness its length
/// cannot be told, nor where a height wanted for the bed settles its spacers: that is known to the layout alone.
std::optional<Joint> mount_joint(const Kit& kit, const Part& part, const Feature& hole) {
  const Feature* pocket = feature_at(part, {hole.at.x, hole.at.y, 0}, {FeatureKind::insert_pocket});
  const std::optional<InsertSize> insert = insert_of_part(kit, part);
  if (!pocket || !insert || !kit.bed || !kit.bed->thickness_mm) return std::nullopt;
  if (kit.bed->height_mm && !kit.bed->spacer.empty()) return std::nullopt;
  Joint j = started(kit, part, hole, part.settings.at("mount_screw").get<std::string>(), "bed to " + part.id);
  j.layers.push_back({"bed", *kit.bed->thickness_mm, caliper_mm, false});
  if (kit.bed->stand_mm > 0) j.layers.push_back({"stand", kit.bed->stand_mm, kit.bed->stand_plus_minus_mm, false, false});
  for (const PartRequest& spacer : kit.parts)
    if (!kit.bed->spacer.empty() && spacer.id == kit.bed->spacer)
      j.layers.push_back({spacer.id, spacer.settings.at("thickness_mm").get<double>(),
                          kit.joint_rules.printed_plus_minus_mm, true});
  j.layers.push_back({part.id, hole.at.z - (pocket->at.z + insert->length_mm), kit.joint_rules.printed_plus_minus_mm,
                      true});
  j.hole_mm = clearance_hole_mm(j.thread, "medium");
  j.printed_outer_mm = part.settings.at("standoff_diameter_mm").get<double>();
  // Pressed in from below, so that the screw pulls it into the plastic.
  j.anchor = {"insert", insert->length_mm, false, "far"};
  j.behind.what = "the base under the rails";
  j.behind.clear_mm = std::max(0.0, kit.carriages.size.assembly_height_mm + pocket->at.z);
  return j;
}

/// A support plate stands on four carriages at once; its heads lie on the sheet or in a counterbore.
std::vector<Joint> support_joints(const Kit& kit, const Part& part) {
  PlateSettings s;
  s.carriage_screw = kit.carriages.size.thread;
  s.carriage_hole_mm = clearance_hole_mm(s.carriage_screw, "medium");
  std::vector<Joint> joints;
  for (const Feature& f : part.features)
    if (f.id.rfind("carriage-hole-", 0) == 0) joints.push_back(carriage_joint(kit, part, f, s));
  for (const Feature& f : part.features)
    if (f.id.rfind("mount-hole-", 0) == 0)
      if (const std::optional<Joint> joint = mount_joint(kit, part, f)) joints.push_back(*joint);
  return joints;
}

}  // namespace

std::vector<Joint> joints_of_part(const Kit& kit, const Part& part) {
  std::vector<Joint> joints;
  if (part.family == "end_bracket") return bracket_joints(kit, part);
  if (part.family == "support_plate") return support_joints(kit, part);
  if (part.family != "adapter_plate") return joints;
  const PlateSettings s = plate_settings(kit, part);
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::clearance_hole && f.kind != FeatureKind::slot) continue;
    const Feature* pocket = feature_at(part, f.at, {FeatureKind::insert_pocket});
    joints.push_back(pocket ? frame_joint(kit, part, f, *pocket, s) : carriage_joint(kit, part, f, s));
  }
  return joints;
}

std::optional<InsertSize> insert_of_part(const Kit& kit, const Part& part) {
  const bool pockets = std::any_of(part.features.begin(), part.features.end(),
                                   [](const Feature& f) { return f.kind == FeatureKind::insert_pocket; });
  if (!pockets) return std::nullopt;
  if (part.family == "adapter_plate") return plate_settings(kit, part).insert;
  const InsertSize* named = find_insert(part.settings.value("insert", std::string()));
  return named ? std::optional<InsertSize>(*named) : std::nullopt;
}

}  // namespace bedwright
