#include "checks/checks.h"

#include <algorithm>
#include <tuple>

namespace bedwright {

std::vector<Finding> run_checks(const Known& known, const AtOnce& at_once) {
  // What takes longest begins first.
  const auto checks = {check_mark_truth,   check_driver,       check_mesh,       check_sliver,       check_likeness,
                       check_dimensions,   check_printer_size, check_layers,     check_overhang,     check_thin_wall,
                       check_softening,    check_joints,       check_head_proud, check_head_slope,   check_insert,
                       check_insert_stock, check_stock_screws, check_travel,     check_guideway,     check_measured,
                       check_carriages,    check_distinct,     check_mark,       check_wrong_ways,   check_key,
                       check_old_revision, check_seat_gap,     check_hole_float, check_interference, check_rail_screws,
                       check_earth_path,   check_rail_hold,    check_stops,      check_heights,      check_constraints};
  std::vector<std::vector<Finding>> found(checks.size());
  std::vector<Task> tasks;
  for (const auto check : checks) tasks.push_back([&known, check, own = &found[tasks.size()]] { check(known, *own); });
  at_once(tasks);
  std::vector<Finding> findings;
  for (const std::vector<Finding>& own : found) findings.insert(findings.end(), own.begin(), own.end());
  sort_findings(findings);
  return findings;
}

void sort_findings(std::vector<Finding>& findings) {
  std::stable_sort(findings.begin(), findings.end(), [](const Finding& a, const Finding& b) {
    return std::tie(a.severity, a.part, a.code, a.feature) < std::tie(b.severity, b.part, b.code, b.feature);
  });
}

}  // namespace bedwright
