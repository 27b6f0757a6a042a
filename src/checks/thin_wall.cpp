#include <algorithm>

#include "base/numbers.h"
#include "checks/checks.h"
#include "parts/features.h"

namespace bedwright {
namespace {

// Three lines of 0.4 mm, and two of whatever line is printed; common practice, no source.
constexpr double usual_wall_mm = 1.2;
constexpr double least_lines = 2;
// Points along a cut's edge are this near its curve: finer than the limit's last digit asks for.
constexpr double sampling_chord_mm = 0.02;

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

/// Between two holes that do not run into each other: slots' and bores' profiles in plan.
void webs(const Part& part, double least_mm, std::vector<Finding>& findings) {
  for (std::size_t i = 0; i < part.features.size(); ++i) {
    if (!is_upright_hole(part.features[i])) continue;
    const Loop& first = part.features[i].profile[0];
    const std::vector<Vec2> edge = polygonised(first, sampling_chord_mm);
    const PlaneBox a = bounding_box(first);
    for (std::size_t j = 0; j < i; ++j) {
      if (!is_upright_hole(part.features[j])) continue;
      const Loop& second = part.features[j].profile[0];
      const PlaneBox b = bounding_box(second);
      if (a.low.x > b.high.x + least_mm || b.low.x > a.high.x + least_mm || a.low.y > b.high.y + least_mm ||
          b.low.y > a.high.y + least_mm)
        continue;
      // One within the other is a counterbore over its hole.
      if (contains(first, second.circle ? second.centre : second.curves[0].start) || contains(second, edge[0]))
        continue;
      double wall = 1e300;
      for (Vec2 p : edge) wall = std::min(wall, contains(second, p) ? 0.0 : distance(second, p));
      if (wall >= least_mm || wall == 0) continue;
      const std::string &one = part.features[j].id, &other = part.features[i].id;
      findings.push_back({"thin-wall", Severity::warning, part.id, other,
                          "between " + one + " and " + other + " " + decimal(wall, 2) + " mm are left", wall, least_mm,
                          "mm", "move them " + decimal(least_mm - wall, 2) + " mm apart, or make one smaller"});
    }
  }
}

}  // namespace

void check_thin_wall(const Known& known, std::vector<Finding>& findings) {
  const double least_wall_mm = std::max(usual_wall_mm, least_lines * known.kit.printer.line_mm);
  for (const KnownPart& p : known.parts) {
    if (p.part->features.empty() || p.part->features[0].profile.size() != 1) continue;
    const Loop& outline = p.part->features[0].profile[0];
    webs(*p.part, least_wall_mm, findings);
    for (const Feature& f : p.part->features) {
      // A boss brings its own wall, which insert-wall looks at.
      if (!is_upright_hole(f) || inside_a_boss(*p.part, {f.at.x, f.at.y})) continue;
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
