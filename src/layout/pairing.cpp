#include "layout/pairing.h"

#include <algorithm>
#include <cmath>

namespace bedwright {
namespace {

constexpr double across_zero = 0.00025, across_light = 0.00015;
constexpr double along_standard = 0.00005, along_long = 0.00004;
constexpr int neighbours[4][2] = {{0, 1}, {2, 3}, {0, 2}, {1, 3}};
constexpr double same_percent = 1e-6;  // differences of heights are binary: 13.02 - 13.01 is not 12.99 - 12.98

bool allowed(const MeasuredCarriage& carriage, int placement) {
  return carriage.rail.empty() || carriage.rail == (placement % 2 == 0 ? "left" : "right");
}

struct Score {
  double worst = 0, squares = 0;
  bool better_than(const Score& o) const {
    if (std::fabs(worst - o.worst) > same_percent) return worst < o.worst;
    return squares < o.squares - same_percent;
  }
};

}  // namespace

GuidewayLimits guideway_limits(const Kit& kit) {
  const std::string& id = kit.carriages.size.id;
  const bool is_long = id.size() > 5 && id.compare(id.size() - 5, 5, "-long") == 0;
  const bool light = kit.carriages.clearance_um < 0;
  return {(light ? across_light : across_zero) * kit.rails.pitch_mm,
          (is_long ? along_long : along_standard) * kit.carriages.spacing_mm};
}

std::optional<CarriagePairing> pair_carriages(const std::vector<MeasuredCarriage>& measured,
                                              const GuidewayLimits& limits) {
  const std::size_t n = measured.size();
  std::optional<CarriagePairing> best;
  Score least;
  int orders = 0;
  std::array<std::size_t, 4> at{};
  const auto used = [&](std::size_t c, int placements) {
    return std::find(at.begin(), at.begin() + placements, c) != at.begin() + placements;
  };
  const auto judge = [&] {
    ++orders;
    CarriagePairing p;
    p.carriage = at;
    Score score;
    for (std::size_t i = 0; i < 4; ++i) p.height_mm[i] = measured[at[i]].height_mm;
    const double highest = *std::max_element(p.height_mm.begin(), p.height_mm.end());
    for (std::size_t i = 0; i < 4; ++i) {
      p.shim_mm[i] = highest - p.height_mm[i];
      const int a = neighbours[i][0], b = neighbours[i][1];
      p.steps[i] = {a, b, p.height_mm[static_cast<std::size_t>(a)] - p.height_mm[static_cast<std::size_t>(b)],
                    i < 2 ? limits.across_mm : limits.along_mm};
      const double percent = p.steps[i].used_percent();
      score.worst = std::max(score.worst, percent);
      score.squares += percent * percent;
    }
    p.worst_percent = score.worst;
    if (best && !score.better_than(least)) return;
    best = p;
    least = score;
  };
  for (at[0] = 0; at[0] < n; ++at[0]) {
    if (!allowed(measured[at[0]], 0)) continue;
    for (at[1] = 0; at[1] < n; ++at[1]) {
      if (used(at[1], 1) || !allowed(measured[at[1]], 1)) continue;
      for (at[2] = 0; at[2] < n; ++at[2]) {
        if (used(at[2], 2) || !allowed(measured[at[2]], 2)) continue;
        for (at[3] = 0; at[3] < n; ++at[3])
          if (!used(at[3], 3) && allowed(measured[at[3]], 3)) judge();
      }
    }
  }
  if (!best) return best;
  best->orders = orders;
  for (std::size_t c = 0; c < n; ++c)
    if (std::find(best->carriage.begin(), best->carriage.end(), c) == best->carriage.end()) best->spare.push_back(c);
  return best;
}

}  // namespace bedwright
