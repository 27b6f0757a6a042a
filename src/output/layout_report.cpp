#include "output/layout_report.h"

#include <fmt/format.h>

#include "base/numbers.h"
#include "output/report.h"

namespace bedwright {

Json layout_document(const Layout& layout, const std::vector<Part>& parts) {
  Json placements = Json::array(), distinct = Json::array();
  for (const Placement& p : layout.placements)
    placements.push_back({{"id", p.id}, {"at_mm", point_json(Vec3{p.at.x, p.at.y, 0})}});
  for (const Part& p : parts)
    distinct.push_back(
        {{"id", p.id}, {"hand", to_text(p.hand)}, {"quantity", p.quantity}, {"placements", p.placements}});
  return {{"format", "bedwright/layout/1"},
          {"placements", placements},
          {"height_mm", rounded_length(layout.height_mm)},
          {"carriage_spacing_mm", rounded_length(layout.carriage_spacing_mm)},
          {"travel",
           {{"available_mm", rounded_length(layout.travel_available_mm)},
            {"needed_mm", rounded_length(layout.travel_needed_mm)}}},
          {"rocking",
           {{"after_um", rounded_6(layout.rocking.after_um)},
            {"after_across_um", rounded_6(layout.rocking.after_across_um)},
            {"before_um", layout.rocking.before_um ? Json(rounded_6(*layout.rocking.before_um)) : Json(nullptr)}}},
          {"rail_holes", {{"count", layout.rail_holes}, {"first_mm", rounded_length(layout.rail_first_hole_mm)}}},
          {"assumptions", layout.assumptions},
          {"distinct_parts", distinct}};
}

std::string layout_text(const Layout& layout, const std::vector<Part>& parts) {
  std::string text = "Placements (carriage centres, machine frame: +X right, +Y rear)\n";
  for (const Placement& p : layout.placements)
    text += fmt::format("  {:<12} x {:>9} mm   y {:>9} mm\n", p.id, decimal(p.at.x, 3), decimal(p.at.y, 3));
  text += fmt::format("Height H of the sheet's underside at the apex: {} mm above the carriages\n",
                      decimal(layout.height_mm, 4));
  text += fmt::format("Travel: {} mm available, {} mm needed\n", decimal(layout.travel_available_mm, 2),
                      decimal(layout.travel_needed_mm, 2));
  text += fmt::format("Rail holes: {} a rail, the first {} mm from the end\n", layout.rail_holes,
                      decimal(layout.rail_first_hole_mm, 2));
  text += fmt::format("Rocking of the bed's edge by play: {} um front and rear, {} um left and right",
                      decimal(layout.rocking.after_um, 1), decimal(layout.rocking.after_across_um, 1));
  text += layout.rocking.before_um ? fmt::format("; {} um before\n", decimal(*layout.rocking.before_um, 1))
                                   : std::string("; give `before` to compare with the old bearings\n");
  text += "Parts\n";
  for (const Part& p : parts) {
    text += fmt::format("  {:>3} x {}", p.quantity, p.id);
    if (p.hand != Hand::none) text += fmt::format(" ({} hand)", to_text(p.hand));
    for (std::size_t i = 0; i < p.placements.size(); ++i) text += (i ? ", " : ": ") + p.placements[i];
    text += "\n";
  }
  for (const std::string& assumption : layout.assumptions) text += "Assumed: " + assumption + "\n";
  return text;
}

}  // namespace bedwright
