#include "survey/robust_start.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "base/trig.h"
#include "survey/distribution.h"
#include "survey/picker.h"

namespace bedwright {
namespace {

constexpr std::size_t starts = 400, starts_a_task = 25, finalists = 8;
static_assert(starts % starts_a_task == 0);
constexpr int settling_steps = 30;

using Terms = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

struct Candidate {
  Eigen::VectorXd c;
  double sum = 0;
  bool good = false;
};

class Trimmer {
 public:
  Trimmer(Terms terms, Eigen::VectorXd z, std::size_t kept) : terms_(std::move(terms)), z_(std::move(z)), kept_(kept) {}

  /// Fit to the rows listed; false where they do not decide it.
  bool fit(const std::size_t* rows, std::size_t count, Eigen::VectorXd& c) const {
    const Eigen::Index p = terms_.cols();
    Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(p, p);
    Eigen::VectorXd rhs = Eigen::VectorXd::Zero(p);
    for (std::size_t i = 0; i < count; ++i) {
      const double* t = terms_.data() + static_cast<Eigen::Index>(rows[i]) * p;
      const double z = z_(static_cast<Eigen::Index>(rows[i]));
      for (Eigen::Index a = 0; a < p; ++a) {
        rhs(a) += t[a] * z;
        for (Eigen::Index b = 0; b <= a; ++b) normal(a, b) += t[a] * t[b];
      }
    }
    const Eigen::LDLT<Eigen::MatrixXd> factors(normal.selfadjointView<Eigen::Lower>());
    if (factors.info() != Eigen::Success || !(factors.vectorD().minCoeff() > 1e-9 * normal.diagonal().maxCoeff()))
      return false;
    c = factors.solve(rhs);
    return c.allFinite();
  }

  /// Keeps the rows nearest to the surface, fits again; the sum of their squares never rises.
  bool concentrate(Candidate& at) const {
    const Eigen::VectorXd r = z_ - terms_ * at.c;
    std::vector<std::size_t> order(static_cast<std::size_t>(r.size()));
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto nearer = [&](std::size_t a, std::size_t b) {
      const double ra = std::fabs(r(static_cast<Eigen::Index>(a))), rb = std::fabs(r(static_cast<Eigen::Index>(b)));
      return ra != rb ? ra < rb : a < b;
    };
    std::nth_element(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(kept_ - 1), order.end(), nearer);
    at.sum = 0;
    for (std::size_t i = 0; i < kept_; ++i) {
      const double d = r(static_cast<Eigen::Index>(order[i]));
      at.sum += d * d;
    }
    return fit(order.data(), kept_, at.c);
  }

 private:
  Terms terms_;
  Eigen::VectorXd z_;
  std::size_t kept_;
};

}  // namespace

CutNormal cut_normal(double k) {
  if (!(k < 30)) return {};
  const double share = 1 - normal_two_tails(k);
  const double density = std::exp(-k * k / 2) / std::sqrt(2 * pi);
  return {(share - 2 * k * density) / share, share};
}

Vec3 main_normal(const std::vector<Vec3>& points, const AtOnce& at_once) {
  constexpr std::size_t tries = 300, tries_a_task = 30;
  static_assert(tries % tries_a_task == 0);
  std::vector<std::array<std::size_t, 3>> corners(tries);
  Picker picker;
  for (auto& three : corners)
    for (std::size_t& corner : three) corner = picker.below(points.size());
  struct Plane {
    Vec3 normal{0, 0, 1};
    double spread = 1e300;
  };
  std::vector<Plane> planes(tries);
  each_at_once(at_once, tries / tries_a_task, [&](std::size_t task) {
    std::vector<double> distances(points.size());
    for (std::size_t i = task * tries_a_task; i < (task + 1) * tries_a_task; ++i) {
      const Vec3 from = points[corners[i][0]], u = points[corners[i][1]] - from, v = points[corners[i][2]] - from;
      Vec3 n = cross(u, v);
      const double size = length(n);
      if (!(size > 0.05 * length(u) * length(v))) continue;  // nearly on one line: says nothing
      n = (1 / size) * n;
      for (std::size_t k = 0; k < points.size(); ++k) distances[k] = std::fabs(dot(n, points[k] - from));
      const auto at = distances.begin() + static_cast<std::ptrdiff_t>(0.6 * static_cast<double>(distances.size() - 1));
      std::nth_element(distances.begin(), at, distances.end());
      planes[i] = {n.z < 0 ? -n : n, *at};
    }
  });
  return std::min_element(planes.begin(), planes.end(),
                          [](const Plane& a, const Plane& b) { return a.spread < b.spread; })
      ->normal;
}

std::vector<Vec3> sampled(const std::vector<Vec3>& points, std::size_t most) {
  if (points.size() <= most) return points;
  std::vector<Vec3> some;
  some.reserve(most);
  Picker picker;
  // One at random out of each of `most` equal runs: scan lines cannot fall into step with it.
  for (std::size_t i = 0; i < most; ++i) {
    const std::size_t low = points.size() * i / most, high = points.size() * (i + 1) / most;
    some.push_back(points[low + picker.below(high - low)]);
  }
  return some;
}

RobustStart least_trimmed_squares(const std::vector<Vec3>& points, Vec3 origin, double reach,
                                  const std::vector<std::size_t>& columns, const AtOnce& at_once) {
  RobustStart start;
  const std::size_t n = points.size(), p = columns.size();
  if (n < 3 * p) return start;
  Terms terms(static_cast<Eigen::Index>(n), static_cast<Eigen::Index>(p));
  Eigen::VectorXd z(static_cast<Eigen::Index>(n));
  for (std::size_t i = 0; i < n; ++i) {
    const Vec3 q = points[i] - origin;
    const auto all = polynomial_terms(q.x / reach, q.y / reach);
    for (std::size_t k = 0; k < p; ++k)
      terms(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(k)) = all[columns[k]];
    z(static_cast<Eigen::Index>(i)) = q.z;
  }
  const std::size_t kept = std::max((n + p + 1) / 2, static_cast<std::size_t>(trimmed_share * static_cast<double>(n)));
  const Trimmer trimmer(std::move(terms), std::move(z), kept);
  Picker picker;
  std::vector<std::size_t> rows(starts * p);
  for (std::size_t& row : rows) row = picker.below(n);
  std::vector<Candidate> best(starts);
  each_at_once(at_once, starts / starts_a_task, [&](std::size_t task) {
    for (std::size_t s = task * starts_a_task; s < (task + 1) * starts_a_task; ++s) {
      Candidate& at = best[s];
      at.good = trimmer.fit(&rows[s * p], p, at.c) && trimmer.concentrate(at) && trimmer.concentrate(at);
    }
  });
  best.erase(std::remove_if(best.begin(), best.end(), [](const Candidate& at) { return !at.good; }), best.end());
  std::sort(best.begin(), best.end(), [](const Candidate& a, const Candidate& b) { return a.sum < b.sum; });
  if (best.size() > finalists) best.resize(finalists);
  each_at_once(at_once, best.size(), [&](std::size_t i) {
    Candidate& at = best[i];
    double before = at.sum;
    for (int step = 0; step < settling_steps && at.good; ++step) {
      at.good = trimmer.concentrate(at);
      if (!(at.sum < before * (1 - 1e-12))) break;
      before = at.sum;
    }
  });
  const Candidate* least = nullptr;
  for (const Candidate& at : best)
    if (at.good && (!least || at.sum < least->sum)) least = &at;
  if (!least) return start;
  start.ok = true;
  for (std::size_t k = 0; k < p; ++k) start.coefficients[columns[k]] = least->c(static_cast<Eigen::Index>(k));
  const double share = static_cast<double>(kept) / static_cast<double>(n);
  const CutNormal cut = cut_normal(normal_quantile(1 - share));
  const double left = static_cast<double>(std::max<std::size_t>(kept - p, 1));
  start.sigma = std::sqrt(least->sum / left / cut.variance);
  return start;
}

}  // namespace bedwright
