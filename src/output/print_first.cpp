#include "output/print_first.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/numbers.h"

namespace bedwright {
namespace {

// Thinner than this a part is bent or lost easily; common practice, no source.
constexpr double thin_mm = 1.2;
constexpr std::size_t least_shim_heights = 3;

bool is_coupon(const Part& part) {
  return part.family == "fit_coupon";
}

bool has_insert(const Part& part) {
  return std::any_of(part.features.begin(), part.features.end(),
                     [](const Feature& f) { return f.kind == FeatureKind::insert_pocket; });
}

}  // namespace

int print_rank(const Kit& kit, const Part& part) {
  if (!kit.printer.wishes.prints_itself) return 2;
  if (is_coupon(part)) return 0;
  // A proof piece shows what the finished machine prints.
  return part.family == "proof_piece" ? 2 : 1;
}

int spares(const Kit& kit, const Part& part, double height_mm) {
  if (print_rank(kit, part) != 1) return 0;
  return has_insert(part) || height_mm < thin_mm ? 1 : 0;
}

PrintFirst print_first(const Kit& kit, const std::vector<PartReport>& parts) {
  PrintFirst list;
  if (!kit.printer.wishes.prints_itself) return list;
  for (const int rank : {0, 1})
    for (const PartReport& p : parts) {
      if (print_rank(kit, p.part) != rank) continue;
      const int more = spares(kit, p.part, p.box_mm.z);
      std::string why = rank == 0                   ? "measure it first: what it says changes all the others"
                        : p.part.placements.empty() ? "needed to put the machine together again"
                                                    : "the machine does not run without it";
      if (more > 0)
        why +=
            has_insert(p.part) ? "; one spare, as an insert pressed in askew spoils it" : "; one spare, as it is thin";
      list.parts.push_back({p.part.id, p.part.quantity, more, why});
    }
  list.keep = {
      {"the old rods, bearings and their holders", "the way back, if a new part fails before the first print"},
      {"every screw, nut and washer you take out, in bags named by their place",
       "some go in again; their lengths are known"},
      {"the old frame sheet, and whatever shims or springs lay under the bed",
       "the old bed height comes back with them"},
      {"the belt clamp, end-stop flag and cable holder", "they are moved to the new parts or copied from"},
  };
  if (kit.before && kit.before->bed_height_mm)
    list.keep.push_back({"a note of the old bed height", "needed to set the end stop and the probe again"});
  return list;
}

std::vector<Finding> print_first_findings(const Kit& kit, const std::vector<PartReport>& parts) {
  std::vector<Finding> findings;
  if (!kit.printer.wishes.prints_itself) return findings;
  std::set<long> heights;
  bool coupon = false;
  for (const PartReport& p : parts) {
    coupon = coupon || is_coupon(p.part);
    if (p.part.family == "shim") heights.insert(std::lround(p.box_mm.z / length_step_mm));
  }
  if (!coupon)
    findings.push_back({"print-first-coupon", Severity::warning, "", "",
                        "this machine prints its own parts, and the kit has no fit coupon: what does not fit cannot be "
                        "printed again once it is apart",
                        0, 1, "", "add { \"id\": \"coupon\", \"family\": \"fit_coupon\" } to parts"});
  if (heights.size() < least_shim_heights)
    findings.push_back({"print-first-shims", Severity::warning, "", "",
                        "this machine prints its own parts, and the kit makes shims of " +
                            std::to_string(heights.size()) + " thicknesses: levelling it again may need others",
                        static_cast<double>(heights.size()), static_cast<double>(least_shim_heights), "",
                        "add one shim to parts: those of one to four layers are then made of it"});
  return findings;
}

}  // namespace bedwright
