#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

// Less than this from a whole layer is rounded away when the file is sliced, and nobody can measure it.
constexpr double same_mm = 1e-4;

const Dimension* thickness_of(const Part& part) {
  for (const Feature& f : part.features)
    if (const Dimension* d = find_dimension(f, "thickness")) return d;
  return nullptr;
}

void check_one(const PrinterProfile& printer, const Part& part, double drawn, double built,
               std::vector<Finding>& findings) {
  const double first = printer.first_layer_mm, layer = printer.layer_mm;
  if (built < first - same_mm) {
    findings.push_back(
        {"thin-shim", Severity::error, part.id, "",
         part.id + " is " + decimal(built, 3) + " mm thick; the printer's first layer alone is " + decimal(first, 3) +
             " mm",
         built, first, "mm",
         "cut it from " + decimal(drawn, 3) + " mm sheet metal or film, or print a thinner first layer"});
    return;
  }
  const double above_first = (built - first) / layer;
  if (std::fabs(above_first - std::round(above_first)) * layer <= same_mm) return;
  const double below = std::floor(above_first);
  // What to ask for: the file gets the height compensation on top.
  const double low = first + below * layer - (built - drawn), high = low + layer;
  findings.push_back({"whole-layers", Severity::warning, part.id, "",
                      part.id + " is " + decimal(built, 3) + " mm high in the file, which is not a whole number of " +
                          decimal(layer, 3) + " mm layers on a first layer of " + decimal(first, 3) + " mm",
                      above_first + 1, below + 1, "layers",
                      "make thickness_mm " + decimal(low, 3) + " (" + decimal(below + 1, 0) + " layers) or " +
                          decimal(high, 3) + " (" + decimal(below + 2, 0) + ")"});
}

}  // namespace

void check_layers(const Known& known, std::vector<Finding>& findings) {
  for (const KnownPart& p : known.parts) {
    if (p.part->family != "shim") continue;
    if (const Dimension* thickness = thickness_of(*p.part))
      check_one(known.kit.printer, *p.part, thickness->nominal_mm, thickness->modelled_mm, findings);
  }
}

}  // namespace bedwright
