#include "output/page_map.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "output/height_field.h"
#include "output/level_advice.h"
#include "output/report.h"
#include "survey/kit_bed_map.h"
#include "survey/orient_map.h"

namespace bedwright {
namespace {

constexpr int cells = 32;  // of the plan, each way

double tenths(double um) {
  return rounded_6(std::round(um * 10) / 10 + 0.0);
}

std::vector<double> from_mean_um(const std::vector<double>& z_mm) {
  double mean = 0;
  for (double z : z_mm) mean += z / static_cast<double>(z_mm.size());
  std::vector<double> um;
  for (double z : z_mm) um.push_back(1000 * (z - mean));
  return um;
}

Json rows_of(const std::vector<Vec2>& at, const std::vector<double>& um, const std::vector<double>& xs,
             const std::vector<double>& ys) {
  const HeightField field(at, um);
  Json rows = Json::array();
  for (double y : ys) {
    Json row = Json::array();
    for (double x : xs) row.push_back(tenths(field({x, y})));
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace

Json page_bed_map(const Kit& kit, const Layout& layout) {
  const std::optional<LevelReport> level = level_of_kit(kit, layout);
  if (!level) return nullptr;
  Json document = level_document(*level);
  const std::vector<Vec2>& at = level->input.map.at;
  const std::vector<double> now = from_mean_um(level->input.map.z), then = from_mean_um(level->result.plan.predicted);
  Vec2 low = at.front(), high = low;
  for (Vec2 p : at) {
    low = {std::min(low.x, p.x), std::min(low.y, p.y)};
    high = {std::max(high.x, p.x), std::max(high.y, p.y)};
  }
  std::vector<double> xs, ys;
  for (int i = 0; i <= cells; ++i) {
    xs.push_back(rounded_length(low.x + (high.x - low.x) * i / cells));
    ys.push_back(rounded_length(low.y + (high.y - low.y) * i / cells));
  }
  document["bed_mm"] = point_json(level->input.bed_mm);
  document["grid"] = {
      {"x_mm", xs}, {"y_mm", ys}, {"before_um", rows_of(at, now, xs, ys)}, {"after_um", rows_of(at, then, xs, ys)}};
  Json points = Json::array();
  for (std::size_t i = 0; i < at.size(); ++i)
    points.push_back({{"at_mm", point_json(at[i])}, {"before_um", tenths(now[i])}, {"after_um", tenths(then[i])}});
  document["points"] = std::move(points);
  document["best_range_mm"] = rounded_length(level->result.best_range_mm);
  document["files"] = Json::array();
  for (const NamedText& file : kit.bed_map_files) document["files"].push_back(file.name);
  Json others = Json::array();
  for (const OtherReading& o : other_readings(*level, *bed_map_of(kit)))
    others.push_back({{"words", spoken(o.convention)}, {"range_mm", rounded_length(o.range_mm)}});
  document["other_readings"] = std::move(others);
  document.erase("map");
  return document;
}

}  // namespace bedwright
