#include "survey/choose_shims.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "survey/bed_map.h"
#include "survey/plate_on_mounts.h"

namespace bedwright {
namespace {

constexpr std::size_t most_nodes = 200'000'000;  // a minute or so; point evaluations count as nodes
constexpr double gap_slack_mm = 1e-6;

struct Score {
  double value = 0;
  int moved = 0, pieces = 0;
  double total = 0;
};

/// Better by more than equally_good_mm, or equally good and tidier.
bool better(const Score& a, const Score& b) {
  if (std::fabs(a.value - b.value) > equally_good_mm) return a.value < b.value;
  if (a.moved != b.moved) return a.moved < b.moved;
  if (a.pieces != b.pieces) return a.pieces < b.pieces;
  return a.total < b.total - 1e-9;
}

class Search {
 public:
  explicit Search(const ShimTask& task) : task_(task), n_(task.influence.size()) {
    maps_.assign(n_ + 1, task.z);
    chosen_.assign(n_, 0);
    for (std::size_t i = 0; i < n_; ++i) {
      double now = -task.now_mm[i];
      low_.push_back(std::min(now + task.choices.front().mm, 0.0));
      high_.push_back(std::max(now + task.choices.back().mm, 0.0));
    }
    pick_pairs();
  }

  ShimPlan run() {
    descend(0);
    if (best_.empty())
      throw BadUsage("no choice of shims keeps the seating gap allowed; allow a larger one with --most-gap");
    ShimPlan plan;
    plan.choice = best_;
    for (std::size_t i = 0; i < n_; ++i) plan.shim_mm.push_back(choice_at(i, best_[i]).mm);
    plan.predicted = predicted_map(task_, plan.shim_mm);
    plan.range_mm = range_of(plan.predicted);
    plan.rms_mm = rms_of(plan.predicted);
    plan.moved = best_score_.moved;
    return plan;
  }

 private:
  static constexpr int keep = -1;  ///< what stands there now, where it is none of the choices

  ShimChoice choice_at(std::size_t mount, int c) const {
    return c == keep ? ShimChoice{task_.now_mm[mount], 0, {}} : task_.choices[static_cast<std::size_t>(c)];
  }

  /// The points that are extreme along some direction of the plane and of the map: where ranges come from.
  void pick_pairs() {
    std::vector<std::size_t> points;
    const auto add = [&](std::size_t p) {
      if (std::find(points.begin(), points.end(), p) == points.end()) points.push_back(p);
    };
    const auto extremes = [&](const std::vector<double>& f) {
      const auto [low, high] = std::minmax_element(f.begin(), f.end());
      add(static_cast<std::size_t>(low - f.begin()));
      add(static_cast<std::size_t>(high - f.begin()));
    };
    extremes(task_.z);
    for (const auto& row : task_.influence) extremes(row);
    // The map with each mount's tilt taken off in turn shows further candidates.
    for (const auto& row : task_.influence)
      for (double s : {-0.5, 0.5}) {
        std::vector<double> f = task_.z;
        const double unit = range_of(task_.z) * s;
        for (std::size_t p = 0; p < f.size(); ++p) f[p] += unit * row[p];
        extremes(f);
      }
    for (std::size_t a = 0; a < points.size(); ++a)
      for (std::size_t b = a + 1; b < points.size(); ++b) {
        Pair pair{points[a], points[b], {}, {}};
        pair.low.assign(n_ + 1, 0);
        pair.high.assign(n_ + 1, 0);
        for (std::size_t i = n_; i-- > 0;) {
          const double d = task_.influence[i][pair.a] - task_.influence[i][pair.b];
          pair.low[i] = pair.low[i + 1] + std::min(d * low_[i], d * high_[i]);
          pair.high[i] = pair.high[i + 1] + std::max(d * low_[i], d * high_[i]);
        }
        pairs_.push_back(std::move(pair));
      }
  }

  double bound(std::size_t depth) const {
    double most = 0;
    const auto& z = maps_[depth];
    for (const Pair& pair : pairs_) {
      const double d = z[pair.a] - z[pair.b];
      const double low = d + pair.low[depth], high = d + pair.high[depth];
      if (low > most) most = low;
      if (-high > most) most = -high;
    }
    return most;
  }

  void descend(std::size_t depth) {
    if (depth == n_) return judge();
    const bool may_keep = std::none_of(task_.choices.begin(), task_.choices.end(), [&](const ShimChoice& c) {
      return std::fabs(c.mm - task_.now_mm[depth]) < 1e-6;
    });
    for (int c = may_keep ? keep : 0; c < static_cast<int>(task_.choices.size()); ++c) {
      const double change = choice_at(depth, c).mm - task_.now_mm[depth];
      chosen_[depth] = c;
      auto& next = maps_[depth + 1];
      const auto& row = task_.influence[depth];
      if (!task_.minimise_rms && !best_.empty()) {
        for (const std::size_t p : pair_points()) next[p] = maps_[depth][p] + change * row[p];
        count(pairs_.size());
        if (bound(depth + 1) > best_score_.value + equally_good_mm) continue;
      }
      for (std::size_t p = 0; p < row.size(); ++p) next[p] = maps_[depth][p] + change * row[p];
      count(row.size());
      descend(depth + 1);
    }
  }

  const std::vector<std::size_t>& pair_points() {
    if (pair_points_.empty())
      for (const Pair& pair : pairs_)
        for (std::size_t p : {pair.a, pair.b})
          if (std::find(pair_points_.begin(), pair_points_.end(), p) == pair_points_.end()) pair_points_.push_back(p);
    return pair_points_;
  }

  void judge() {
    Score score;
    score.value = task_.minimise_rms ? rms_of(maps_[n_]) : range_of(maps_[n_]);
    std::vector<double> shims;
    for (std::size_t i = 0; i < n_; ++i) {
      const ShimChoice choice = choice_at(i, chosen_[i]);
      shims.push_back(choice.mm);
      score.moved += std::fabs(choice.mm - task_.now_mm[i]) > 1e-6;
      score.pieces += static_cast<int>(choice.pieces.size());
      score.total += choice.mm;
    }
    if (!best_.empty() && !better(score, best_score_)) return;
    if (task_.most_gap_mm && seating_gap(task_.mounts, shims).mm > *task_.most_gap_mm + gap_slack_mm) return;
    best_ = chosen_;
    best_score_ = score;
  }

  void count(std::size_t more) {
    nodes_ += more;
    if (nodes_ > most_nodes)
      throw BadUsage("too many combinations of shims for an exact answer: " + std::to_string(n_) + " mounts with " +
                     std::to_string(task_.choices.size()) + " thicknesses each; lower --most-shim or give less stock");
  }

  struct Pair {
    std::size_t a, b;
    std::vector<double> low, high;  ///< what the mounts from a depth on can still add to z[a] - z[b]
  };

  const ShimTask& task_;
  std::size_t n_;
  std::vector<std::vector<double>> maps_;
  std::vector<int> chosen_, best_;
  Score best_score_;
  std::vector<double> low_, high_;
  std::vector<Pair> pairs_;
  std::vector<std::size_t> pair_points_;
  std::size_t nodes_ = 0;
};

}  // namespace

std::vector<ShimChoice> printed_choices(double layer_mm, double first_layer_mm, double height_compensation_mm,
                                        double most_mm) {
  std::vector<ShimChoice> choices = {{}};
  for (int layers = 1;; ++layers) {
    const double mm = first_layer_mm + (layers - 1) * layer_mm - height_compensation_mm;
    if (mm > most_mm + 1e-9) break;
    if (mm > 0) choices.push_back({mm, layers, {}});
  }
  return choices;
}

std::vector<ShimChoice> stock_choices(const std::vector<double>& stock_mm, int most_pieces, double most_mm) {
  std::vector<ShimChoice> all = {{}}, last = {{}};
  for (int k = 0; k < most_pieces; ++k) {
    std::vector<ShimChoice> next;
    for (const ShimChoice& stack : last)
      for (double piece : stock_mm) {
        if (!stack.pieces.empty() && piece > stack.pieces.back()) continue;  // thick ones first: each stack once
        ShimChoice more = stack;
        more.mm += piece;
        more.pieces.push_back(piece);
        if (more.mm <= most_mm + 1e-9) next.push_back(more);
      }
    all.insert(all.end(), next.begin(), next.end());
    last = std::move(next);
  }
  std::stable_sort(all.begin(), all.end(), [](const ShimChoice& a, const ShimChoice& b) {
    return std::fabs(a.mm - b.mm) > 1e-6 ? a.mm < b.mm : a.pieces.size() < b.pieces.size();
  });
  all.erase(std::unique(all.begin(), all.end(),
                        [](const ShimChoice& a, const ShimChoice& b) { return std::fabs(a.mm - b.mm) <= 1e-6; }),
            all.end());
  return all;
}

std::vector<double> predicted_map(const ShimTask& task, const std::vector<double>& shim_mm) {
  std::vector<double> z = task.z;
  for (std::size_t i = 0; i < task.influence.size(); ++i)
    for (std::size_t p = 0; p < z.size(); ++p) z[p] += (shim_mm[i] - task.now_mm[i]) * task.influence[i][p];
  return z;
}

ShimPlan choose_shims(const ShimTask& task) {
  return Search(task).run();
}

}  // namespace bedwright
