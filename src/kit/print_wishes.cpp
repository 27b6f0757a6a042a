#include "kit/print_wishes.h"

namespace bedwright {

PrintWishes print_wishes(const Kit& kit) {
  PrintWishes w;
  if (kit.parts.empty() || !kit.parts[0].settings.contains(print_wishes_key)) return w;
  // The schema has checked and completed it.
  const Json& j = kit.parts[0].settings[print_wishes_key];
  w.overhang_deg = j.at("overhang_deg").get<double>();
  w.bridge_mm = j.at("bridge_mm").get<double>();
  w.seat_step_mm = j.at("seat_step_mm").get<double>();
  w.cooling_from = j.value("cooling_from", "");
  w.part_gap_mm = j.at("part_gap_mm").get<double>();
  w.bed_edge_mm = j.at("bed_edge_mm").get<double>();
  w.beds = j.at("beds").get<std::string>();
  w.sets = j.at("sets").get<int>();
  w.prints_itself = j.at("prints_itself").get<bool>();
  return w;
}

}  // namespace bedwright
