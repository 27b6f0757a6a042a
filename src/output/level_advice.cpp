#include "output/level_advice.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "kit/hardware.h"
#include "survey/kit_bed_map.h"

namespace bedwright {
namespace {

constexpr int most_pieces = 3;
constexpr double same_mm = 1e-4;
constexpr double poisson = 0.33;  // aluminium; steel and glass differ by a tenth, which moves no shim
constexpr double fits_on_bed = 1.02;

std::vector<Mount> bed_mounts(const Kit& kit) {
  std::vector<Mount> mounts;
  for (const FrameHole& hole : kit.frame.mounts) mounts.push_back({hole.id, hole.at_mm});
  return mounts;
}

std::string names(const std::vector<Mount>& mounts) {
  std::string text;
  for (const Mount& m : mounts) text += (text.empty() ? "" : ", ") + m.id;
  return text;
}

std::vector<ShimChoice> choices_for(const Kit& kit, const LevelWishes& wishes) {
  std::vector<double> stock = wishes.stock_mm;
  if (stock.empty() && !kit.bed_map.is_null() && kit.bed_map.contains("stock_mm"))
    for (const Json& mm : kit.bed_map["stock_mm"]) stock.push_back(mm.get<double>());
  for (double mm : stock)
    if (mm < 0.01 || mm > 5) throw BadUsage("--stock: a shim is from 0.01 to 5 mm thick");
  if (stock.size() > 12) throw BadUsage("--stock: at most 12 thicknesses");
  if (!stock.empty()) return stock_choices(stock, most_pieces, wishes.most_shim_mm);
  return printed_choices(kit.printer.layer_mm, kit.printer.first_layer_mm, kit.printer.compensation.height_mm,
                         wishes.most_shim_mm);
}

BedOnMounts model_of(const Kit& kit, Vec2 bed, std::vector<std::string>& assumptions) {
  BedOnMounts model;
  model.bed_mm = bed;
  const Json& map = kit.bed_map;
  const bool sheet = !map.is_null() && map.contains("sheet_n_per_mm"),
             plate = !map.is_null() && map.contains("bed_thickness_mm");
  if (!sheet && !plate) return model;
  if (!sheet || !plate)
    throw BadInput("kit", {{"/bed_map", "", "sheet_n_per_mm and bed_thickness_mm belong together",
                            "give both, or none for a rigid bed"}});
  const Material* material = find_material(kit.bed ? kit.bed->material : "aluminium");
  model.kind = BedOnMounts::Kind::stated;
  model.thickness_mm = map["bed_thickness_mm"].get<double>();
  model.sheet_n_per_mm = map["sheet_n_per_mm"].get<double>();
  model.modulus_gpa = material && material->modulus_gpa > 0 ? material->modulus_gpa : 69;
  model.poisson = poisson;
  assumptions.push_back("modulus of the bed " + decimal(model.modulus_gpa, 1) + " GPa, Poisson's ratio 0.33");
  return model;
}

}  // namespace

std::vector<std::string> shim_places(const Kit& kit) {
  const std::string wish = kit.bed_map.is_null() ? "bed_mounts" : kit.bed_map.value("shim_at", "bed_mounts");
  std::vector<std::string> places;
  if (wish != "carriages" && !kit.frame.mounts.empty()) places.push_back("bed_mounts");
  if (wish != "bed_mounts") places.push_back("carriages");
  if (places.empty())
    throw BadInput("kit " + kit.name, {{"/frame/bed_mounts", "", "the kit has no bed mounts to put shims under",
                                        "add frame.bed_mounts, or \"shim_at\": \"carriages\" in bed_map"}});
  return places;
}

std::vector<Mount> mounts_at(const Kit& kit, const Layout& layout, const std::string& place) {
  if (place != "carriages") return bed_mounts(kit);
  std::vector<Mount> mounts;
  for (const Placement& p : layout.placements) mounts.push_back({p.id, p.at});
  return mounts;
}

Vec2 bed_size(const Kit& kit, const std::vector<Mount>& mounts, std::vector<std::string>& assumptions) {
  if (kit.bed) return kit.bed->size_mm;
  std::vector<Vec2> at;
  for (const Mount& m : mounts) at.push_back(m.at);
  assumptions.push_back("the kit gives no bed: sizes are over the mounts' box");
  return box_size(at);
}

std::size_t mount_index(const std::vector<Mount>& mounts, const std::string& id, const std::string& where) {
  for (std::size_t i = 0; i < mounts.size(); ++i)
    if (mounts[i].id == id) return i;
  throw BadUsage(where + ": `" + id + "` is no mount; there are " + names(mounts));
}

std::optional<std::vector<double>> shims_in_kit(const Kit& kit, const std::vector<Mount>& mounts, bool at_carriages) {
  if (kit.bed_map.is_null() || !kit.bed_map.contains("shims")) return std::nullopt;
  // Where shims may go to either, an id that both have means the bed mount.
  const bool either = kit.bed_map.value("shim_at", "") == "either";
  const std::vector<Mount> others = bed_mounts(kit);
  std::vector<double> now(mounts.size(), 0);
  for (const Json& s : kit.bed_map["shims"]) {
    const std::string id = s.at("mount").get<std::string>();
    const bool at_bed = std::any_of(others.begin(), others.end(), [&](const Mount& m) { return m.id == id; });
    const bool placement = std::find(placement_ids.begin(), placement_ids.end(), id) != placement_ids.end();
    if (either && (at_carriages ? at_bed : !at_bed && placement)) continue;
    now[mount_index(mounts, id, "/bed_map/shims")] += s.at("shim_mm").get<double>();
  }
  return now;
}

std::vector<FootGap> foot_gaps_in_kit(const Kit& kit, const std::vector<Mount>& mounts) {
  std::vector<FootGap> gaps;
  if (kit.bed_map.is_null() || !kit.bed_map.contains("soft_foot")) return gaps;
  for (const Json& row : kit.bed_map["soft_foot"]) {
    FootGap g;
    g.mount = row.at("mount").get<std::string>();
    (void)mount_index(mounts, g.mount, "/bed_map/soft_foot");
    g.front = g.rear = g.left = g.right = row.value("gap_mm", 0.0);
    if (row.contains("gaps_mm")) {
      g.front = row["gaps_mm"].at(0).get<double>();
      g.rear = row["gaps_mm"].at(1).get<double>();
      g.left = row["gaps_mm"].at(2).get<double>();
      g.right = row["gaps_mm"].at(3).get<double>();
      g.four_sides = true;
    }
    gaps.push_back(g);
  }
  return gaps;
}

LevelReport level_question(const Kit& kit, const BedMap& map, const MapReading& reading,
                           const std::vector<Mount>& mounts, const std::string& place, const LevelWishes& wishes) {
  LevelReport report;
  report.kit = kit.name;
  report.revision = kit.revision;
  report.reading = reading;
  report.shim_at = place;
  report.layer_mm = kit.printer.layer_mm;
  report.first_layer_mm = kit.printer.first_layer_mm;
  LevelInput& in = report.input;
  in.map = in_machine_frame(map, reading.convention);
  in.source = map.source;
  in.mounts = mounts;
  in.bed_mm = bed_size(kit, mounts, report.assumptions);
  in.choices = choices_for(kit, wishes);
  if (in.choices.size() < 2)
    throw BadUsage("--most-shim " + decimal(wishes.most_shim_mm, 3) + ": thinner than the thinnest shim");
  in.model = model_of(kit, in.bed_mm, report.assumptions);
  in.minimise_rms = wishes.rms;
  in.most_gap_mm = wishes.most_gap_mm;
  in.factor.assign(mounts.size(), 1);
  in.factor_u.assign(mounts.size(), first_factor_u);
  in.now_mm = shims_in_kit(kit, mounts, place == "carriages").value_or(std::vector<double>(mounts.size(), 0));
  if (reading.convention.centre_mm == Vec2{})
    report.assumptions.push_back("the middle of the map's points stands over the middle of the machine");
  return report;
}

bool flatter(const LevelReport& b, const LevelReport& a) {
  return b.input.minimise_rms ? b.result.plan.rms_mm < a.result.plan.rms_mm - same_mm
                              : b.result.plan.range_mm < a.result.plan.range_mm - same_mm;
}

std::optional<LevelReport> level_of_kit(const Kit& kit, const Layout& layout) {
  const std::optional<BedMap> map = bed_map_of(kit);
  if (!map) return std::nullopt;
  std::optional<LevelReport> best;
  for (const std::string& place : shim_places(kit)) {
    LevelReport report = level_question(kit, *map, {convention_of(kit.bed_map), "the kit says so"},
                                        mounts_at(kit, layout, place), place, {});
    report.result = level_bed(report.input);
    if (!best || flatter(report, *best)) best = std::move(report);
  }
  best->map_date = kit.bed_map.value("on", "");
  best->soft_foot = judge_soft_foot(foot_gaps_in_kit(kit, best->input.mounts), foot_pad_mm);
  return best;
}

std::vector<OtherReading> other_readings(const LevelReport& report, const BedMap& map) {
  std::vector<double> change;
  bool any = false;
  for (std::size_t i = 0; i < report.input.now_mm.size(); ++i) {
    change.push_back(report.result.plan.shim_mm[i] - report.input.now_mm[i]);
    any = any || std::fabs(change.back()) > same_mm;
  }
  std::vector<OtherReading> list;
  if (!any) return list;
  const MapConvention& stated = report.reading.convention;
  const Vec2 box = box_size(map.at), bed = report.input.bed_mm;
  for (const bool high : {true, false})
    for (const bool mirrored : {false, true})
      for (int turns = 0; turns < 4; ++turns) {
        MapConvention c = stated;
        c.positive_high = high;
        c.mirrored = mirrored;
        c.quarter_turns = turns;
        if (high == stated.positive_high && mirrored == stated.mirrored && turns == stated.quarter_turns) continue;
        const Vec2 wide = turns % 2 ? Vec2{box.y, box.x} : box;
        if (wide.x > fits_on_bed * bed.x || wide.y > fits_on_bed * bed.y) continue;
        LevelInput in = report.input;
        in.map = in_machine_frame(map, c);
        const auto influence = scaled_influence(in, in.model);
        std::vector<double> z = in.map.z;
        for (std::size_t i = 0; i < change.size(); ++i)
          for (std::size_t p = 0; p < z.size(); ++p) z[p] += change[i] * influence[i][p];
        list.push_back({c, range_of(z)});
      }
  std::stable_sort(list.begin(), list.end(),
                   [](const OtherReading& a, const OtherReading& b) { return a.range_mm > b.range_mm + same_mm; });
  return list;
}

}  // namespace bedwright
