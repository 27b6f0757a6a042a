#include <algorithm>

#include "base/numbers.h"
#include "checks/checks.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

// Five layers of 0.2 mm above a pocket; common practice, no source.
constexpr double least_bottom_mm = 1;
constexpr double same_mm = 1e-6;

const Feature* boss_round(const Part& part, const Feature& pocket) {
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::boss && f.at.x == pocket.at.x && f.at.y == pocket.at.y && f.from.z_mm < pocket.to.z_mm &&
        find_dimension(f, "diameter"))
      return &f;
  return nullptr;
}

void check_wall(const Part& part, const Feature& pocket, const InsertSize& insert, std::vector<Finding>& findings) {
  const Feature* boss = boss_round(part, pocket);
  const Dimension* hole = find_dimension(pocket, "diameter");
  if (!boss || !hole) return;
  const double wall = (find_dimension(*boss, "diameter")->nominal_mm - hole->nominal_mm) / 2;
  if (wall >= insert.least_wall_mm - same_mm) return;
  findings.push_back({"insert-wall", Severity::warning, part.id, pocket.id,
                      "round " + pocket.id + " the boss is " + decimal(wall, 2) + " mm thick; " + insert.id +
                          " asks for " + decimal(insert.least_wall_mm, 2),
                      wall, insert.least_wall_mm, "mm",
                      "make boss_diameter_mm at least " + decimal(hole->nominal_mm + 2 * insert.least_wall_mm, 2)});
}

void check_bottom(const Part& part, const Feature& pocket, std::vector<Finding>& findings) {
  if (pocket.to.kind != Bound::Kind::flat) return;
  const double left = height_at(part.seat, {pocket.at.x, pocket.at.y}) - pocket.to.z_mm;
  if (left >= least_bottom_mm - same_mm) return;
  findings.push_back({"insert-bottom", Severity::warning, part.id, pocket.id,
                      "between " + pocket.id + " and the seat " + decimal(left, 2) + " mm of material are left", left,
                      least_bottom_mm, "mm",
                      "make thickness_mm or boss_height_mm " + decimal(least_bottom_mm - left, 2) +
                          " mm more, or take a shorter insert"});
}

/// Where no boss stands round it, the plate's own edge must leave the insert's wall.
void check_edge(const Part& part, const Feature& pocket, const InsertSize& insert, std::vector<Finding>& findings) {
  const Dimension* hole = find_dimension(pocket, "diameter");
  if (!hole || part.features.front().profile.size() != 1) return;
  const Loop& outline = part.features.front().profile[0];
  const Vec2 at{pocket.at.x, pocket.at.y};
  const double wall = (contains(outline, at) ? distance(outline, at) : 0) - hole->nominal_mm / 2;
  if (wall >= insert.least_wall_mm - same_mm) return;
  findings.push_back({"insert-edge", Severity::warning, part.id, pocket.id,
                      "between " + pocket.id + " and the plate's edge " + decimal(std::max(wall, 0.0), 2) +
                          " mm are left; " + insert.id + " asks for " + decimal(insert.least_wall_mm, 2),
                      wall, insert.least_wall_mm, "mm",
                      "make margin_mm " + decimal(insert.least_wall_mm - wall, 2) + " mm more"});
}

}  // namespace

void check_insert(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (p.part->family != "adapter_plate") continue;
    const InsertSize insert = plate_settings(known.kit, *p.part).insert;
    for (const Feature& f : p.part->features) {
      if (f.kind != FeatureKind::insert_pocket) continue;
      check_wall(*p.part, f, insert, findings);
      check_bottom(*p.part, f, findings);
      check_edge(*p.part, f, insert, findings);
    }
  }
}

}  // namespace bedwright
