// What must be printed before a machine that prints its own parts is taken apart, and what must be kept of it.
#pragma once

#include <string>
#include <vector>

#include "output/report.h"

namespace bedwright {

/// How early a part is printed: 0 the coupon, whose measurements change all others; 1 what it takes to get the machine
/// running again, and the gauges it is put together with; 2 what can wait. All 2 where another machine prints.
int print_rank(const Kit& kit, const Part& part);
/// Copies beyond the quantity, of what breaks or gets lost: parts with a pressed insert, and thin ones. 0 where another
/// machine prints.
int spares(const Kit& kit, const Part& part, double height_mm);

/// Everything to print first, and the old parts to keep until the machine has printed with the new ones; empty where
/// another machine prints.
PrintFirst print_first(const Kit& kit, const std::vector<PartReport>& parts);

/// print-first-coupon, print-first-shims: what the kit lacks for that.
std::vector<Finding> print_first_findings(const Kit& kit, const std::vector<PartReport>& parts);

}  // namespace bedwright
