#include <algorithm>

#include "base/numbers.h"
#include "kit/hardware.h"
#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

// The schema allows no length under 3 mm: each has a tower.
constexpr double base_mm = 2.4, wall_mm = 2.4, gap_mm = 3, strip_for_mark_mm = 8;

std::vector<double> lengths_of(const Json& settings) {
  std::vector<double> lengths;
  if (settings.contains("lengths_mm"))
    for (const Json& length : settings.at("lengths_mm")) lengths.push_back(length.get<double>());
  else
    for (const Json& row : hardware_table("screw_lengths").at("rows")) {
      const double length = row.at("length_mm").get<double>();
      if (row.at("choice") == 1 && length >= 5 && length <= 25) lengths.push_back(length);
    }
  std::sort(lengths.begin(), lengths.end());
  lengths.erase(std::unique(lengths.begin(), lengths.end()), lengths.end());
  return lengths;
}

}  // namespace

std::vector<Part> derive_screw_gauge(const Kit& kit, const Layout&, const PartRequest& request) {
  const std::string thread = request.settings.at("screw").get<std::string>();
  const Compensation& compensation = kit.printer.compensation;
  const std::vector<double> lengths = lengths_of(request.settings);
  const double hole = clearance_hole_mm(thread, "medium"), head = find_cap_screw(thread)->head_diameter_mm;
  const double tower = std::max(head, hole + 2 * wall_mm), step = tower + gap_mm;
  const double count = static_cast<double>(lengths.size());
  Part part = flat_bar(kit, request, {count * step + gap_mm, tower + 2 * gap_mm + strip_for_mark_mm}, base_mm);
  const double top = part.seat.height, y = strip_for_mark_mm / 2;
  std::string list;
  for (std::size_t i = 0; i < lengths.size(); ++i) {
    const Vec2 at{(static_cast<double>(i) - (count - 1) / 2) * step, y};
    const double made = lengths[i] + compensation.height_mm;
    Feature f = boss_to_seat("tower-" + std::to_string(i + 1), at, tower, top, made, compensation);
    f.to = Bound::at(made);
    f.dimensions.push_back(dimension("height", lengths[i] - base_mm, made - top, height_tolerance_mm));
    part.features.push_back(std::move(f));
    list += (i ? ", " : "") + decimal(lengths[i], 1);
  }
  for (std::size_t i = 0; i < lengths.size(); ++i) {
    const Vec2 at{(static_cast<double>(i) - (count - 1) / 2) * step, y};
    part.features.push_back(clearance_hole("hole-" + std::to_string(i + 1), at, hole, Bound::open(), Bound::open(),
                                           lengths[i] + compensation.height_mm, compensation));
  }
  part.statements.push_back(thread + " screws of " + list +
                            " mm, shortest at the left: drop one in from above; in the tower of its own length its "
                            "tip is flush with the underside");
  return {part};
}

}  // namespace bedwright
