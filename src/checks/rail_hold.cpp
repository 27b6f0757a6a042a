#include <algorithm>

#include "base/numbers.h"
#include "checks/checks.h"
#include "checks/machine_places.h"
#include "layout/rail_line.h"

namespace bedwright {
namespace {

// Two screws hold a stretch's direction, one is a hinge. Common practice, no source.
constexpr int least_screws = 2;

void lost(const Kit& kit, const RailLine& line, std::vector<Finding>& findings) {
  std::string which;
  std::vector<FindingPlace> places;
  int n = 0;
  for (const RailScrew& s : line.screws) {
    if (s.usable) continue;
    ++n;
    places.push_back(on_rail(kit, line, s.y_mm));
    which += (which.empty() ? "" : "; ") + std::to_string(s.n) + " at y = " + decimal(s.y_mm, 1) + ", " + s.why;
  }
  if (n == 0) return;
  const auto all = static_cast<int>(line.screws.size());
  findings.push_back({"rail-hole-lost", Severity::warning, "", "",
                      std::to_string(n) + " of " + std::to_string(all) + " screws of the " + line.side +
                          " rail cannot be used, counted from the front: " + which,
                      static_cast<double>(n), 0, "",
                      "shift the rail by part of its pitch, carry its end with an end bracket, or leave these "
                      "out and look at the beam in `bedwright layout`",
                      places});
}

void loose_ends(const Kit& kit, const RailLine& line, std::vector<Finding>& findings) {
  for (const bool front : {true, false}) {
    if (line.backed.empty()) continue;
    const Span& stretch = front ? line.backed.front() : line.backed.back();
    std::vector<FindingPlace> places = {whole_rail(line.side)};
    long n = 0;
    for (const RailScrew& s : line.screws) {
      if (s.y_mm < stretch.from || s.y_mm > stretch.to) continue;
      places.push_back(on_rail(kit, line, s.y_mm));
      if (s.usable) ++n;
    }
    if (n >= least_screws) continue;
    findings.push_back({"rail-end-loose", Severity::warning, "", "",
                        "the " + std::string(front ? "front" : "rear") + " of the " + line.side + " rail is held by " +
                            std::to_string(n) + (n == 1 ? " screw" : " screws") +
                            " from y = " + decimal(stretch.from, 1) + " to " + decimal(stretch.to, 1),
                        static_cast<double>(n), least_screws, "",
                        "at least 2 screws there: a longer pad, or the rail shifted by part of its pitch", places});
  }
}

}  // namespace

void check_rail_hold(const Known& known, std::vector<Finding>& findings) {
  for (const RailLine& line : rail_lines(known.kit, known.layout)) {
    lost(known.kit, line, findings);
    loose_ends(known.kit, line, findings);
  }
}

void check_stops(const Known& known, std::vector<Finding>& findings) {
  const RailSettings& rails = known.kit.rails;
  const RailStops stops = rails.stops.value_or(RailStops{});
  if (stops.front_mm <= 0 || stops.rear_mm <= 0) {
    const std::string where = stops.front_mm <= 0 && stops.rear_mm <= 0 ? "either end"
                              : stops.front_mm <= 0                     ? "the front"
                                                                        : "the rear";
    std::vector<FindingPlace> places;
    for (const RailLine& line : rail_lines(known.kit, known.layout))
      for (const double end : {-1.0, 1.0})
        if ((end < 0 ? stops.front_mm : stops.rear_mm) <= 0)
          places.push_back(on_rail(known.kit, line, end * rails.length_mm / 2));
    findings.push_back(
        {"no-stop", Severity::note, "", "",
         "nothing keeps a carriage from running off the rail at " + where + ", and its balls are lost then", 0, 0, "mm",
         "put a stop there, or a screw through the rail's last hole, and write rails.stops_mm", places});
  }
  const double inward =
      std::max(0.0, stops.front_mm - rails.end_margin_mm) + std::max(0.0, stops.rear_mm - rails.end_margin_mm);
  const double has = known.layout.travel_available_mm, needs = known.layout.travel_needed_mm;
  // Short with the stops and not without: the stops are to blame.
  if (has >= needs || has + inward < needs) return;
  findings.push_back({"stop-early", Severity::warning, "", "",
                      "the stops end the travel " + decimal(needs - has, 1) + " mm early", has, needs, "mm",
                      "set the stops that much nearer to the rails' ends", {{"rails"}, {"stops"}}});
}

}  // namespace bedwright
