#include <algorithm>

#include "base/numbers.h"
#include "checks/checks.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

// Vertices of a counterbore's wall lie on its profile, at most a facet's chord and a lattice step outside.
constexpr double on_wall_mm = 0.03;
constexpr double same_level_mm = 1e-3;

struct Depth {
  bool found = false;
  double floor_mm = 0, rim_mm = 0;
};

/// From the file's own vertices near the counterbore's wall: its floor, and the lowest point of its rim. A hole or a
/// chamfer below may have vertices there too, so the floor is the highest level that a full ring of vertices shares.
Depth depth_in_file(const KnownPart& p, const Feature& counterbore) {
  const double reach = on_wall_mm + p.part->chord_mm;
  std::vector<double> heights;
  for (const Vec3& v : p.measured->mesh.vertices) {
    const Vec3 at = apply(p.print_to_part, v);
    if (distance(counterbore.profile[0], {at.x, at.y}) <= reach) heights.push_back(at.z);
  }
  std::sort(heights.begin(), heights.end());
  Depth depth;
  std::size_t best = 0;
  for (auto from = heights.begin(); from != heights.end();) {
    const auto to = std::upper_bound(from, heights.end(), *from + same_level_mm);
    const auto ring = static_cast<std::size_t>(to - from);
    if (ring >= best && to != heights.end()) depth = {true, *from, *to}, best = ring;
    from = to;
  }
  return depth;
}

}  // namespace

void check_head_proud(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (p.part->family != "adapter_plate") continue;
    const double head = plate_settings(known.kit, *p.part).head_height_mm;
    for (const Feature& f : p.part->features) {
      if (f.kind != FeatureKind::counterbore && f.kind != FeatureKind::counterbore_slot) continue;
      const Depth depth = depth_in_file(p, f);
      if (!depth.found) continue;
      // A flat top under pads or bosses is no seat: there the sheet itself is the limit.
      const bool flat_top = p.part->features[0].to.kind == Bound::Kind::flat;
      const double limit = flat_top ? height_at(p.part->seat, {f.at.x, f.at.y}) : depth.rim_mm;
      const double proud = depth.floor_mm + head - limit;
      if (proud <= 0) continue;
      findings.push_back({"head-proud", Severity::error, p.part->id, f.id,
                          "the screw head in " + f.id + " stands " + decimal(proud, 2) + " mm above the seat",
                          depth.floor_mm + head, limit, "mm", "make thickness_mm " + decimal(proud, 2) + " mm more"});
    }
  }
}

}  // namespace bedwright
