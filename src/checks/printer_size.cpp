#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

/// Another pose, where the kit forbids one; a split; less of it; more room.
std::string cures(const Part& part, double excess, double size, double limit) {
  const bool posed = part.settings.is_object() && part.settings.value("pose", "auto") != "auto";
  const double pieces = std::ceil(size / limit);
  return std::string(posed ? "another pose (leave pose out, and one that fits is found if there is one), or "
                           : "no pose fits: ") +
         "split it in " + decimal(pieces, 0) + " pieces of " + decimal(size / pieces, 1) +
         " mm with two pins and two screws across each joint, make it " + decimal(excess, 1) +
         " mm smaller, or use a larger printer (/printer/bed_mm)";
}

}  // namespace

void check_printer_size(const Known& known, std::vector<Finding>& findings) {
  const Vec3 bed = known.kit.printer.bed_mm;
  const double limits[3] = {bed.x, bed.y, bed.z};
  for (const KnownPart& p : known.parts) {
    const Vec3 size = p.measured->box.high - p.measured->box.low;
    const double sizes[3] = {size.x, size.y, size.z};
    int worst = 0;
    for (int i = 1; i < 3; ++i)
      if (sizes[i] - limits[i] > sizes[worst] - limits[worst]) worst = i;
    const double excess = sizes[worst] - limits[worst];
    if (excess <= 0) continue;
    findings.push_back({"part-too-big", Severity::error, p.part->id, "",
                        p.part->id + " is " + decimal(size.x, 1) + " x " + decimal(size.y, 1) + " x " +
                            decimal(size.z, 1) + " mm; the printer takes " + decimal(bed.x, 1) + " x " +
                            decimal(bed.y, 1) + " x " + decimal(bed.z, 1),
                        sizes[worst], limits[worst], "mm", cures(*p.part, excess, sizes[worst], limits[worst])});
  }
}

}  // namespace bedwright
