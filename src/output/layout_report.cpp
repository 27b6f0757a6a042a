#include "output/layout_report.h"

#include <fmt/format.h>

#include "base/numbers.h"
#include "output/machine_report.h"
#include "output/report.h"
#include "output/wrapped.h"

namespace bedwright {

namespace {

Json pairing_json(const Kit& kit, const CarriagePairing& p) {
  Json corners = Json::array(), steps = Json::array(), spare = Json::array();
  for (std::size_t i = 0; i < 4; ++i)
    corners.push_back({{"placement", placement_ids[i]},
                       {"carriage", kit.carriages.measured[p.carriage[i]].id},
                       {"height_mm", rounded_length(p.height_mm[i])},
                       {"shim_mm", rounded_length(p.shim_mm[i])}});
  for (const HeightStep& s : p.steps)
    steps.push_back(
        {{"between", {placement_ids[static_cast<std::size_t>(s.a)], placement_ids[static_cast<std::size_t>(s.b)]}},
         {"difference_mm", rounded_length(s.mm)},
         {"limit_mm", rounded_length(s.limit_mm)},
         {"used_percent", rounded_6(s.used_percent())}});
  for (std::size_t c : p.spare) spare.push_back(kit.carriages.measured[c].id);
  return {{"corners", corners}, {"steps", steps}, {"orders", p.orders}, {"spare", spare}};
}

std::string pairing_text(const Kit& kit, const CarriagePairing& p) {
  std::string text =
      fmt::format("Carriages as measured ({} {} possible)\n", p.orders, p.orders == 1 ? "order" : "orders");
  for (std::size_t i = 0; i < 4; ++i) {
    const MeasuredCarriage& c = kit.carriages.measured[p.carriage[i]];
    text += fmt::format("  {:<12} {:<10} {} mm high", placement_ids[i], c.id, decimal(p.height_mm[i], 3));
    text += p.shim_mm[i] > 0 ? fmt::format(", shim {} mm\n", decimal(p.shim_mm[i], 3)) : std::string("\n");
  }
  for (const HeightStep& s : p.steps)
    text += fmt::format("  {} against {}: {} mm, {} % of the {} mm that the rails allow\n",
                        placement_ids[static_cast<std::size_t>(s.a)], placement_ids[static_cast<std::size_t>(s.b)],
                        decimal(s.mm, 3), decimal(s.used_percent(), 0), decimal(s.limit_mm, 4));
  for (std::size_t c : p.spare) text += "  spare: " + kit.carriages.measured[c].id + "\n";
  return text;
}

}  // namespace

Json layout_document(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
                     const MachineAnswers& answers) {
  Json placements = Json::array(), distinct = Json::array();
  for (const Placement& p : layout.placements)
    placements.push_back({{"id", p.id}, {"at_mm", point_json(Vec3{p.at.x, p.at.y, 0})}});
  for (const Part& p : parts)
    distinct.push_back(
        {{"id", p.id}, {"hand", to_text(p.hand)}, {"quantity", p.quantity}, {"placements", p.placements}});
  Json others = Json::array();
  for (const RailHoles& way : layout.other_rail_holes)
    others.push_back({{"count", way.count}, {"first_mm", rounded_length(way.first_mm)}});
  Json document = {
      {"format", "bedwright/layout/1"},
      {"placements", placements},
      {"height_mm", rounded_length(layout.height_mm)},
      {"carriage_spacing_mm", rounded_length(layout.carriage_spacing_mm)},
      {"travel",
       {{"available_mm", rounded_length(layout.travel_available_mm)},
        {"needed_mm", rounded_length(layout.travel_needed_mm)},
        {"front_mm", rounded_length(layout.travel_front_mm)},
        {"rear_mm", rounded_length(layout.travel_rear_mm)}}},
      {"widest", kit.carriages.widest},
      {"rocking",
       {{"after_um", rounded_6(layout.rocking.after_um)},
        {"after_across_um", rounded_6(layout.rocking.after_across_um)},
        {"before_um", layout.rocking.before_um ? Json(rounded_6(*layout.rocking.before_um)) : Json(nullptr)}}},
      {"rail_holes",
       {{"count", layout.rail_holes}, {"first_mm", rounded_length(layout.rail_first_hole_mm)}, {"or", others}}},
      {"carriages", layout.pairing ? pairing_json(kit, *layout.pairing) : Json(nullptr)},
      {"assumptions", layout.assumptions},
      {"distinct_parts", distinct}};
  document.update(machine_json(answers));
  return document;
}

std::string layout_text(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
                        const MachineAnswers& answers) {
  std::string text = "Placements (carriage centres, machine frame: +X right, +Y rear)\n";
  for (const Placement& p : layout.placements)
    text += fmt::format("  {:<12} x {:>9} mm   y {:>9} mm\n", p.id, decimal(p.at.x, 3), decimal(p.at.y, 3));
  text += fmt::format("Height H of the sheet's underside at {}: {} mm above the carriages\n",
                      layout.underside.measured ? "X = Y = 0" : "the apex", decimal(layout.height_mm, 4));
  text += fmt::format("Travel: {} mm available, {} mm needed; the bed's middle can go from y = {} to {}\n",
                      decimal(layout.travel_available_mm, 2), decimal(layout.travel_needed_mm, 2),
                      decimal(layout.travel_front_mm, 1), decimal(layout.travel_rear_mm, 1));
  if (kit.carriages.widest)
    text += fmt::format("Carriage spacing: {} mm, the widest that leaves the travel and the ends\n",
                        decimal(layout.carriage_spacing_mm, 2));
  text += fmt::format("Rail holes: {} a rail, the first {} mm from the end\n", layout.rail_holes,
                      decimal(layout.rail_first_hole_mm, 2));
  if (layout.pairing) text += pairing_text(kit, *layout.pairing);
  text += wrapped("Rocking of the bed's edge by play: ",
                  decimal(layout.rocking.after_um, 1) + " um front and rear, " +
                      decimal(layout.rocking.after_across_um, 1) + " um left and right; " +
                      (layout.rocking.before_um ? decimal(*layout.rocking.before_um, 1) + " um before"
                                                : std::string("give `before` to compare with the old bearings")),
                  2);
  text += machine_text(answers);
  text += "Parts\n";
  for (const Part& p : parts) {
    text += fmt::format("  {:>3} x {}", p.quantity, p.id);
    if (p.hand != Hand::none) text += fmt::format(" ({} hand)", to_text(p.hand));
    for (std::size_t i = 0; i < p.placements.size(); ++i) text += (i ? ", " : ": ") + p.placements[i];
    text += "\n";
  }
  for (const std::string& assumption : layout.assumptions) text += wrapped("Assumed: ", assumption, 2);
  return text;
}

}  // namespace bedwright
