#include <algorithm>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

// The same gate as solid/build.h, for the file: a triangle lower than this is lost in rounding elsewhere.
constexpr double least_triangle_height_mm = 0.01;
// Heights are computed from lattice coordinates in double.
constexpr double rounding_mm = 1e-9;

}  // namespace

void check_sliver(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    const double limit = std::min(p.part->chord_mm, least_triangle_height_mm);
    const double height = p.measured->health.least_height_mm;
    if (height >= limit - rounding_mm) continue;
    findings.push_back({"mesh-sliver", Severity::error, p.part->id, "",
                        "the flattest triangle of " + p.part->id + " is " + decimal(height, 5) + " mm high", height,
                        limit, "mm", "move features that nearly touch apart, or change chord_mm a little"});
  }
}

}  // namespace bedwright
