#include "survey/kit_bed_map.h"

#include "base/error.h"

namespace bedwright {
namespace {

constexpr std::size_t least_mounts = 3;  // that a stiff bed needs

}  // namespace

MapConvention convention_of(const Json& bed_map) {
  MapConvention c;
  c.positive_high = bed_map.at("positive_is") == "high";
  c.quarter_turns = bed_map.value("turned_deg", 0) / 90;
  c.mirrored = bed_map.value("mirrored", false);
  if (bed_map.contains("centre_mm"))
    c.centre_mm = {bed_map["centre_mm"].at(0).get<double>(), bed_map["centre_mm"].at(1).get<double>()};
  return c;
}

std::optional<BedMap> bed_map_of(const Kit& kit) {
  if (kit.bed_map_files.empty()) return std::nullopt;
  std::optional<GridExtent> extent;
  if (kit.bed_map.contains("extent_mm")) {
    const auto v = kit.bed_map["extent_mm"].get<std::vector<double>>();
    extent = GridExtent{{v.at(0), v.at(1)}, {v.at(2), v.at(3)}};
  }
  std::vector<BedMap> maps;
  for (const NamedText& file : kit.bed_map_files) maps.push_back(read_bed_map(file.text, file.name, extent));
  return together(maps);
}

void require_bed_map(const Kit& kit) {
  if (!bed_map_of(kit)) return;
  if (kit.bed_map.value("shim_at", "bed_mounts") == "bed_mounts" && kit.frame.mounts.size() < least_mounts)
    throw BadInput("kit " + kit.name,
                   {{"/bed_map/files", "", "a map is there, but fewer than three bed mounts to put shims under",
                     "add frame.bed_mounts, or \"shim_at\": \"carriages\" in bed_map"}});
}

}  // namespace bedwright
