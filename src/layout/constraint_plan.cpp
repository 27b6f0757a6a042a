#include "layout/constraint_plan.h"

#include <algorithm>
#include <cmath>

#include "kit/hardware.h"

namespace bedwright {
namespace {

constexpr int neighbours[4][2] = {{0, 1}, {2, 3}, {0, 2}, {1, 3}};
constexpr double no_growth_mm = 1e-6;

double thread_mm(const std::string& id) {
  const ThreadSize* thread = find_thread(id);
  return thread ? thread->diameter_mm : 0;
}

double expansion_of(const std::string& material) {
  const Material* m = find_material(material);
  return m ? m->expansion_per_k : 0;
}

PlateRole role_of(const Kit& kit, const PartRequest& request, const Placement& placement) {
  const PlateSettings s = plate_settings(kit, request);
  PlateRole role;
  role.part = request.id;
  role.placement = placement.id;
  role.extra_mm = slot_extra_mm(s, placement.id);
  role.along_y = s.slot_along_y;
  role.places = role.extra_mm == 0;
  const double play = (s.carriage_hole_mm - thread_mm(s.carriage_screw)) / 2,
               off = kit.joint_rules.pattern_plus_minus_mm;
  role.across_left_mm = play + (role.along_y ? 0 : role.extra_mm / 2) - off;
  role.along_left_mm = play + (role.along_y ? role.extra_mm / 2 : 0) - off;
  double hole = 1e300;
  for (const FrameHole& h : placement.holes) hole = std::min(hole, h.diameter_mm);
  if (!placement.holes.empty()) role.frame_left_mm = (hole - thread_mm(s.frame_screw)) / 2 - off;
  return role;
}

void add_mounts(const Kit& kit, ConstraintPlan& plan) {
  if (!kit.bed || kit.frame.mounts.empty()) return;
  Vec2 fixed{};
  for (const FrameHole& m : kit.frame.mounts)
    fixed = fixed + (1.0 / static_cast<double>(kit.frame.mounts.size())) * m.at_mm;
  if (!kit.bed->fixed_mount.empty()) {
    plan.fixed_mount = kit.bed->fixed_mount;
    for (const FrameHole& m : kit.frame.mounts)
      if (m.id == kit.bed->fixed_mount) fixed = m.at_mm;
  }
  const double bed_rise = std::max(0.0, kit.bed->max_temperature_c - kit.heat.room_c);
  const double frame_rise = kit.heat.frame_c - kit.heat.room_c;
  const double strain = expansion_of(kit.bed->material) * bed_rise - expansion_of(kit.frame.material) * frame_rise;
  for (const FrameHole& m : kit.frame.mounts) {
    MountRole role;
    role.id = m.id;
    role.at = m.at_mm;
    role.fixed = plan.fixed_mount && m.id == *plan.fixed_mount;
    role.growth_mm = strain * (m.at_mm - fixed);
    if (!kit.bed->mount_screw.empty()) {
      const double screw = thread_mm(kit.bed->mount_screw), grows = length(role.growth_mm);
      role.room_mm = std::max(0.0, (m.diameter_mm - screw) / 2);
      // A slot with the screw in its middle when cold: the growth on one side, so twice that and the hole.
      if (grows > *role.room_mm + no_growth_mm && !role.fixed) role.slot_mm = screw + 2 * grows;
    }
    plan.mounts.push_back(role);
  }
}

void add_pads(const Kit& kit, const Layout& layout, ConstraintPlan& plan) {
  if (!kit.carriages.pad_heights_mm) return;
  std::array<double, 4> heights = *kit.carriages.pad_heights_mm;
  if (layout.pairing)
    for (std::size_t i = 0; i < 4; ++i) heights[i] += layout.pairing->height_mm[i];
  const double highest = *std::max_element(heights.begin(), heights.end());
  const GuidewayLimits limits = guideway_limits(kit);
  for (std::size_t i = 0; i < 4; ++i) {
    plan.pad_shim_mm[i] = highest - heights[i];
    const int a = neighbours[i][0], b = neighbours[i][1];
    plan.pads.push_back({a, b, heights[static_cast<std::size_t>(a)] - heights[static_cast<std::size_t>(b)],
                         i < 2 ? limits.across_mm : limits.along_mm});
  }
}

}  // namespace

bool on_reference(const Kit& kit, const std::string& placement) {
  if (!kit.rails.reference) return false;
  const std::string end = "-" + *kit.rails.reference;
  return placement.size() > end.size() && placement.compare(placement.size() - end.size(), end.size(), end) == 0;
}

ConstraintPlan constraint_plan(const Kit& kit, const Layout& layout) {
  ConstraintPlan plan;
  plan.reference = kit.rails.reference;
  for (const PartRequest& request : kit.parts) {
    if (request.family != "adapter_plate") continue;
    for (const Placement& placement : layout.placements) {
      const std::vector<std::string> wanted = placements_of(request);
      if (std::find(wanted.begin(), wanted.end(), placement.id) == wanted.end()) continue;
      plan.plates.push_back(role_of(kit, request, placement));
    }
  }
  // The frame between the rails grows against their base, taken as steel where the kit has none.
  plan.across_growth_mm =
      kit.rails.pitch_mm * (expansion_of(kit.frame.material) * (kit.heat.frame_c - kit.heat.room_c) -
                            expansion_of(kit.base ? kit.base->material : "steel") * (kit.heat.base_c - kit.heat.room_c));
  add_mounts(kit, plan);
  add_pads(kit, layout, plan);
  return plan;
}

}  // namespace bedwright
