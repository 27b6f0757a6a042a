#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

// From guideway makers' manuals: parallelism in um for clearance, zero and light preload.
struct Parallelism {
  const char* rail;
  double clearance_um, zero_um, light_um;
};
constexpr Parallelism parallelism[] = {{"mini-9", 4, 4, 3}, {"mini-12", 9, 9, 5}, {"mini-15", 10, 10, 6}};

}  // namespace

void check_guideway(const Known& known, std::vector<Finding>& findings) {
  const double clearance = known.kit.carriages.clearance_um;
  const bool light = clearance<0, play = clearance> 0;
  const double height = guideway_limits(known.kit).across_mm;
  std::string text = "the two rails may differ in height by " + decimal(height, 3) + " mm";
  for (const Parallelism& row : parallelism)
    if (known.kit.rails.size.id == row.rail)
      text += " and be out of parallel by " +
              decimal(light  ? row.light_um
                      : play ? row.clearance_um
                             : row.zero_um,
                      0) +
              " um";
  text += play ? "" : ", and these carriages have no play to take up more";
  findings.push_back({"guideway-limits", play ? Severity::note : Severity::warning, "", "",
                      text + "; printed plates do not come that close by themselves", clearance, 0, "um",
                      "align the rails by running a flat bridge along them, then shim the plates until the fourth "
                      "carriage touches without force",
                      {{"rails"}, {"carriages"}}});
}

}  // namespace bedwright
