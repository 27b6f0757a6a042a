#include <algorithm>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

// Three lines of 0.4 mm; common practice, no source.
constexpr double least_wall_mm = 1.2;
// Points along a cut's edge are this near its curve: finer than the limit's last digit asks for.
constexpr double sampling_chord_mm = 0.02;

bool is_hole(const Feature& f) {
  switch (f.kind) {
    case FeatureKind::clearance_hole:
    case FeatureKind::counterbore:
    case FeatureKind::slot:
    case FeatureKind::counterbore_slot:
    case FeatureKind::insert_pocket:
      return f.profile.size() == 1;
    default:
      return false;
  }
}

bool inside_a_boss(const Part& part, Vec2 p) {
  return std::any_of(part.features.begin(), part.features.end(), [&](const Feature& f) {
    return f.kind == FeatureKind::boss && f.profile.size() == 1 && contains(f.profile[0], p);
  });
}

double wall_to(const Loop& outline, const std::vector<Vec2>& edge) {
  double wall = 1e300;
  for (Vec2 p : edge) wall = std::min(wall, contains(outline, p) ? distance(outline, p) : 0.0);
  return wall;
}

}  // namespace

void check_thin_wall(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (p.part->features.empty() || p.part->features[0].profile.size() != 1) continue;
    const Loop& outline = p.part->features[0].profile[0];
    for (const Feature& f : p.part->features) {
      // A boss brings its own wall, which insert-wall looks at.
      if (!is_hole(f) || inside_a_boss(*p.part, {f.at.x, f.at.y})) continue;
      const double wall = wall_to(outline, polygonised(f.profile[0], sampling_chord_mm));
      if (wall >= least_wall_mm) continue;
      findings.push_back(
          {"thin-wall", Severity::warning, p.part->id, f.id,
           "between " + f.id + " and the part's edge " + decimal(wall, 2) + " mm are left", wall, least_wall_mm, "mm",
           "make the part " + decimal(least_wall_mm - wall, 2) + " mm larger there (margin_mm, outer_mm)"});
    }
  }
}

}  // namespace bedwright
