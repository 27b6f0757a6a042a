#include "visit/visitor_map.h"

#include "base/delimited.h"
#include "base/error.h"

namespace bedwright {
namespace {

constexpr double thickest_shim_mm = 2;  // under a mount; common practice, no source

}  // namespace

LevelReport level_visitor_map(const Kit& kit, const VisitorMap& map) {
  constexpr const char* source = "the map";
  if (kit.frame.mounts.size() < 3)
    throw BadInput(source, {{"/frame/bed_mounts", "", "this kit names no three mounts to put shims under", ""}});
  if (map.text.size() > largest_table_bytes) throw BadInput(source, {{"", "", "is larger than any map", ""}});
  const BedMap read = read_bed_map(map.text, source, map.extent);
  LevelReport report;
  report.kit = kit.name;
  report.revision = kit.revision;
  report.reading = {map.convention, "stated beside the map"};
  report.shim_at = "bed_mounts";
  report.layer_mm = kit.printer.layer_mm;
  report.first_layer_mm = kit.printer.first_layer_mm;
  LevelInput& in = report.input;
  in.map = in_machine_frame(read, map.convention);
  in.source = source;
  std::vector<Vec2> at;
  for (const FrameHole& hole : kit.frame.mounts) {
    in.mounts.push_back({hole.id, hole.at_mm});
    at.push_back(hole.at_mm);
  }
  in.bed_mm = kit.bed ? kit.bed->size_mm : box_size(at);
  in.choices = printed_choices(kit.printer.layer_mm, kit.printer.first_layer_mm, kit.printer.compensation.height_mm,
                               thickest_shim_mm);
  in.model.bed_mm = in.bed_mm;
  in.factor.assign(in.mounts.size(), 1);
  in.factor_u.assign(in.mounts.size(), first_factor_u);
  in.now_mm.assign(in.mounts.size(), 0);
  report.assumptions.push_back("the middle of the map's points stands over the middle of the machine");
  report.result = level_bed(in);
  return report;
}

}  // namespace bedwright
