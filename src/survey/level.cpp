#include "survey/level.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"

namespace bedwright {
namespace {

constexpr double least_noise_mm = 0.001;
constexpr double same_place_mm = 0.01;

std::vector<Vec2> places(const std::vector<Mount>& mounts) {
  std::vector<Vec2> at;
  for (const Mount& m : mounts) at.push_back(m.at);
  return at;
}

double noise_of(const HeightMap& map) {
  return map.noise_mm ? std::max(*map.noise_mm, least_noise_mm) : assumed_noise_mm;
}

/// Offset free, at the point where it is greatest.
double band_of(const LevelInput& input, const ShimPlan& plan, const std::vector<std::vector<double>>& influence) {
  const double noise = noise_of(input.map);
  // This map and the next one, with as many repeats.
  const double reading = 2 * noise * noise / input.map.repeats;
  double most = 0;
  for (std::size_t p = 0; p < input.map.at.size(); ++p) {
    double squares = 0;
    for (std::size_t i = 0; i < influence.size(); ++i) {
      const double change = plan.shim_mm[i] - input.now_mm[i];
      if (std::fabs(change) < 1e-6) continue;
      double mean = 0;
      for (double a : influence[i]) mean += a / static_cast<double>(influence[i].size());
      const double a = influence[i][p] - mean;
      const double thickness = printed_shim_u_mm * a, strength = input.factor_u[i] * change * a;
      squares += thickness * thickness + strength * strength;
    }
    most = std::max(most, squares);
  }
  return band_factor * std::sqrt(reading + most);
}

}  // namespace

std::vector<std::vector<double>> scaled_influence(const LevelInput& input, const BedOnMounts& model) {
  auto influence = influence_of(model, places(input.mounts), input.map.at);
  for (std::size_t p = 0; p < input.map.at.size(); ++p) {
    // A lift common to all mounts tilts nothing, whatever was learned of each: what the factors leave over is shared.
    double over = 0;
    for (std::size_t i = 0; i < influence.size(); ++i) over += (1 - input.factor[i]) * influence[i][p];
    for (std::size_t i = 0; i < influence.size(); ++i)
      influence[i][p] = input.factor[i] * influence[i][p] + over / static_cast<double>(influence.size());
  }
  return influence;
}

LevelResult level_bed(const LevelInput& input) {
  LevelResult r;
  r.split = split_map(input.map, input.bed_mm, input.source);
  r.range_mm = range_of(input.map.z);
  r.rms_mm = rms_of(input.map.z);
  r.noise_mm = noise_of(input.map);
  r.noise_assumed = !input.map.noise_mm;
  if (!r.noise_assumed)
    r.noise_u_mm = r.noise_mm / std::sqrt(2.0 * static_cast<double>(input.map.at.size() - 1) * (input.map.repeats - 1));

  ShimTask task;
  task.z = input.map.z;
  task.influence = scaled_influence(input, input.model);
  task.now_mm = input.now_mm;
  task.mounts = places(input.mounts);
  task.choices = input.choices;
  task.minimise_rms = input.minimise_rms;
  if (input.model.kind == BedOnMounts::Kind::rigid) task.most_gap_mm = input.most_gap_mm;
  r.best_range_mm = least_range(input.map.z, task.influence);
  r.plan = choose_shims(task);
  r.gain_mm = input.minimise_rms ? r.rms_mm - r.plan.rms_mm : r.range_mm - r.plan.range_mm;
  if (r.gain_mm <= noise_to_leave * r.noise_mm) {
    r.leave_it = true;
    r.plan = {};
    r.plan.shim_mm = input.now_mm;
    r.plan.predicted = input.map.z;
    r.plan.range_mm = r.range_mm;
    r.plan.rms_mm = r.rms_mm;
    r.plan.choice.assign(input.mounts.size(), -1);
  }
  r.band_mm = band_of(input, r.plan, task.influence);

  std::vector<double> change;
  for (std::size_t i = 0; i < input.now_mm.size(); ++i) change.push_back(r.plan.shim_mm[i] - input.now_mm[i]);
  r.gap = seating_gap(task.mounts, change);
  BedOnMounts other = input.model;
  other.kind = input.model.kind == BedOnMounts::Kind::rigid ? BedOnMounts::Kind::limp : BedOnMounts::Kind::rigid;
  for (const BedOnMounts& model : {input.model, other}) {
    ShimTask view = task;
    view.influence = scaled_influence(input, model);
    const std::vector<double> z = predicted_map(view, r.plan.shim_mm);
    r.views.push_back({model.kind, range_of(z), rms_of(z)});
  }
  BedOnMounts rigid = input.model;
  rigid.kind = BedOnMounts::Kind::rigid;
  const auto rise = influence_of(rigid, task.mounts, {{0, 0}, {1, 0}, {0, 1}});
  for (std::size_t i = 0; i < change.size(); ++i)
    r.tilt = r.tilt + change[i] * Vec2{rise[i][1] - rise[i][0], rise[i][2] - rise[i][0]};
  return r;
}

LoopResult compare_with_foretold(const Foretold& foretold, const LevelInput& input) {
  const HeightMap& map = input.map;
  bool same = foretold.at.size() == map.at.size();
  for (std::size_t p = 0; same && p < map.at.size(); ++p) same = length(foretold.at[p] - map.at[p]) < same_place_mm;
  if (!same)
    throw BadInput(input.source, {{"", "", "its points are not those of the map that --previous began with",
                                   "take the new map at the same points"}});
  const std::size_t n = map.at.size(), mounts = input.mounts.size();
  const auto without_mean = [](std::vector<double> z) {
    double mean = 0;
    for (double v : z) mean += v / static_cast<double>(z.size());
    for (double& v : z) v -= mean;
    return z;
  };
  LoopResult r;
  std::vector<double> miss, seen;
  for (std::size_t p = 0; p < n; ++p) {
    miss.push_back(map.z[p] - foretold.predicted[p]);
    seen.push_back(map.z[p] - foretold.before[p]);
  }
  miss = without_mean(miss);
  seen = without_mean(seen);
  for (double v : miss) r.worst_mm = std::max(r.worst_mm, std::fabs(v));
  r.rms_mm = rms_of(miss);
  r.as_foretold = r.worst_mm <= foretold.band_mm;

  const double noise = noise_of(map);
  const double sd = std::sqrt(noise * noise / map.repeats + foretold.noise_mm * foretold.noise_mm / foretold.repeats);
  const auto influence = influence_of(input.model, places(input.mounts), map.at);
  r.factor = foretold.factor;
  r.factor_u = foretold.factor_u;
  double common = 0;
  for (double c : foretold.change_mm) common += c / static_cast<double>(mounts);
  std::vector<std::size_t> moved;  // against the others: a common lift says nothing of any mount
  for (std::size_t i = 0; i < mounts; ++i)
    if (std::fabs(foretold.change_mm[i] - common) > 1e-6) moved.push_back(i);
  if (moved.empty()) return r;
  for (const auto& row : influence)
    for (std::size_t p = 0; p < n; ++p) seen[p] -= common * row[p];
  seen = without_mean(seen);
  std::vector<std::vector<double>> columns;
  std::vector<double> readings;
  for (double v : seen) readings.push_back(v / sd);
  for (std::size_t k = 0; k < moved.size(); ++k) {
    const double change = foretold.change_mm[moved[k]] - common;
    std::vector<double> column = influence[moved[k]];
    for (double& a : column) a *= change / sd;
    column = without_mean(column);
    // The old value, as one more reading each.
    for (std::size_t j = 0; j < moved.size(); ++j) column.push_back(j == k ? 1 / foretold.factor_u[moved[k]] : 0);
    columns.push_back(std::move(column));
    readings.push_back(foretold.factor[moved[k]] / foretold.factor_u[moved[k]]);
  }
  const TermFit fit = fit_terms(columns, readings);
  for (std::size_t k = 0; k < moved.size(); ++k) {
    r.factor[moved[k]] = fit.coefficients[k];
    // Readings are in units of their own noise: only a fit worse than that widens the uncertainty.
    const double unit = fit.residual_sd > 0 ? fit.standard_errors[k] / fit.residual_sd : 0;
    // A shim's own error of thickness looks like influence, but the next shim has another.
    const double thickness = printed_shim_u_mm / std::fabs(foretold.change_mm[moved[k]] - common);
    r.factor_u[moved[k]] =
        std::min(std::hypot(unit * std::max(1.0, fit.residual_sd), thickness), foretold.factor_u[moved[k]]);
  }
  return r;
}

}  // namespace bedwright
