#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

/// The first way of lying that the printer has room for, as a kit's `pose` names it, and the room it takes; empty: none.
std::string pose_that_fits(const Transform& print_to_part, Vec3 printed, Vec3 bed) {
  // Quarter turns only: each side of the part lies along one axis of the print.
  const auto side = [&](std::size_t row) {
    const auto& m = print_to_part.m;
    return std::fabs(m[4 * row]) * printed.x + std::fabs(m[4 * row + 1]) * printed.y +
           std::fabs(m[4 * row + 2]) * printed.z;
  };
  const double x = side(0), y = side(1), z = side(2);
  const struct {
    const char* pose;
    double across, along, up;
  } ways[] = {{"as_installed", x, y, z}, {"on_front", x, z, y}, {"on_left", z, y, x}};
  for (const auto& way : ways) {
    const bool straight = way.across <= bed.x && way.along <= bed.y, turned = way.across <= bed.y && way.along <= bed.x;
    if ((straight || turned) && way.up <= bed.z)
      return std::string(way.pose) + " (" + decimal(way.across, 1) + " x " + decimal(way.along, 1) + " mm on the bed, " +
             decimal(way.up, 1) + " high)";
  }
  return "";
}

/// Another pose, where one has room; a split; less of it; more room.
std::string cures(const KnownPart& p, Vec3 printed, Vec3 bed, double excess, double size, double limit) {
  const bool posed = p.part->settings.is_object() && p.part->settings.value("pose", "auto") != "auto";
  const std::string pose = pose_that_fits(p.print_to_part, printed, bed);
  const double pieces = std::ceil(size / limit);
  std::string text = pose.empty() ? "no pose fits: " : "set pose to " + pose + ", or ";
  if (!pose.empty() && !posed) text = "it has room only on too small a foot, pose " + pose + ", with support and a brim; or ";
  return text + "split it in " + decimal(pieces, 0) + " pieces of " + decimal(size / pieces, 1) +
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
                        sizes[worst], limits[worst], "mm", cures(p, size, bed, excess, sizes[worst], limits[worst])});
  }
}

}  // namespace bedwright
