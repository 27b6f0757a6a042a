#include "survey/map_split.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/error.h"

namespace bedwright {
namespace {

constexpr double um = 1000;

/// Simplex steps on the dual of the minimum zone: maximise sum b_j (p_j - q_j) with sum phi_j (p_j - q_j) = 0 and
/// sum (p_j + q_j) = 1, p, q >= 0. Its optimum is half the range.
class ZoneSimplex {
 public:
  ZoneSimplex(const std::vector<double>& b, Eigen::MatrixXd phi) : b_(b), phi_(std::move(phi)) {
    rows_ = static_cast<int>(phi_.rows()) + 1;
    basis_.assign(static_cast<std::size_t>(rows_), -1);  // -1: an artificial variable, cost far below all others
    inverse_ = Eigen::MatrixXd::Identity(rows_, rows_);
    values_ = Eigen::VectorXd::Zero(rows_);
    values_(rows_ - 1) = 1;
    for (double v : b_) scale_ = std::max(scale_, std::fabs(v));
  }

  double half_range() {
    if (scale_ == 0) return 0;
    const int most_steps = 200 * rows_ + 20 * static_cast<int>(b_.size());
    for (int step = 0; step < most_steps; ++step) {
      // The first steps take the best column; later ones the first good one (Bland), which cannot go in circles.
      if (!pivot(step > 60 * rows_)) break;
      if (step % 40 == 39) refresh();
    }
    double sum = 0;
    for (int i = 0; i < rows_; ++i) sum += cost(basis_[static_cast<std::size_t>(i)]) * values_(i);
    return std::max(sum, 0.0);
  }

 private:
  static constexpr double tolerance = 1e-11;

  int points() const { return static_cast<int>(b_.size()); }
  /// Columns 0..n-1 are p, n..2n-1 are q.
  double cost(int column) const {
    if (column < 0) return -1e3 * scale_;
    return column < points() ? b_[static_cast<std::size_t>(column)] : -b_[static_cast<std::size_t>(column - points())];
  }
  Eigen::VectorXd column_of(int column, int row_of_artificial) const {
    Eigen::VectorXd a = Eigen::VectorXd::Zero(rows_);
    if (column < 0) {
      a(row_of_artificial) = 1;
      return a;
    }
    const bool p = column < points();
    a.head(rows_ - 1) = (p ? 1.0 : -1.0) * phi_.col(p ? column : column - points());
    a(rows_ - 1) = 1;
    return a;
  }

  bool pivot(bool first_good) {
    Eigen::RowVectorXd costs(rows_);
    for (int i = 0; i < rows_; ++i) costs(i) = cost(basis_[static_cast<std::size_t>(i)]);
    const Eigen::RowVectorXd y = costs * inverse_;
    const Eigen::RowVectorXd shape = y.head(rows_ - 1) * phi_;
    int entering = -1;
    double best = tolerance * scale_;
    for (int j = 0; j < 2 * points(); ++j) {
      const bool p = j < points();
      const double gain = cost(j) - (p ? shape(j) : -shape(j - points())) - y(rows_ - 1);
      if (gain <= best) continue;
      entering = j;
      if (first_good) break;
      best = gain;
    }
    if (entering < 0) return false;
    const Eigen::VectorXd d = inverse_ * column_of(entering, 0);
    int leaving = -1;
    double least = 0;
    for (int i = 0; i < rows_; ++i) {
      const bool artificial = basis_[static_cast<std::size_t>(i)] < 0;
      // An artificial variable at zero must not grow: it leaves whichever way it would move.
      const bool stuck = artificial && values_(i) < tolerance && std::fabs(d(i)) > 1e-9;
      if (!stuck && d(i) <= 1e-9) continue;
      const double ratio = stuck ? 0 : values_(i) / d(i);
      const bool tie = leaving >= 0 && ratio <= least + 1e-15;
      if (leaving < 0 || ratio < least - 1e-15 ||
          (tie && basis_[static_cast<std::size_t>(i)] < basis_[static_cast<std::size_t>(leaving)])) {
        leaving = i;
        least = ratio;
      }
    }
    if (leaving < 0) return false;
    const Eigen::RowVectorXd row = inverse_.row(leaving) / d(leaving);
    const double value = values_(leaving) / d(leaving);
    for (int i = 0; i < rows_; ++i) {
      if (i == leaving) continue;
      inverse_.row(i) -= d(i) * row;
      values_(i) = std::max(values_(i) - d(i) * value, 0.0);
    }
    inverse_.row(leaving) = row;
    values_(leaving) = std::max(value, 0.0);
    basis_[static_cast<std::size_t>(leaving)] = entering;
    return true;
  }

  /// Takes the rounding of many steps away.
  void refresh() {
    Eigen::MatrixXd basis(rows_, rows_);
    for (int i = 0; i < rows_; ++i) basis.col(i) = column_of(basis_[static_cast<std::size_t>(i)], i);
    const Eigen::FullPivLU<Eigen::MatrixXd> lu(basis);
    if (!lu.isInvertible()) return;
    inverse_ = lu.inverse();
    values_ = inverse_.col(rows_ - 1).cwiseMax(0.0);
  }

  const std::vector<double>& b_;
  Eigen::MatrixXd phi_;
  int rows_ = 0;
  std::vector<int> basis_;
  Eigen::MatrixXd inverse_;
  Eigen::VectorXd values_;
  double scale_ = 0;
};

bool distinct_at_least_3(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  int count = values.empty() ? 0 : 1;
  for (std::size_t i = 1; i < values.size(); ++i) count += values[i] - values[i - 1] > 0.01;
  return count >= 3;
}

}  // namespace

TermFit fit_terms(const std::vector<std::vector<double>>& columns, const std::vector<double>& values) {
  const auto n = static_cast<Eigen::Index>(values.size()), m = static_cast<Eigen::Index>(columns.size());
  if (n < m) throw Error("fewer points than terms to fit");
  Eigen::MatrixXd a(n, m);
  Eigen::VectorXd z(n), scale(m);
  for (Eigen::Index i = 0; i < n; ++i) z(i) = values[static_cast<std::size_t>(i)];
  for (Eigen::Index k = 0; k < m; ++k) {
    for (Eigen::Index i = 0; i < n; ++i) a(i, k) = columns[static_cast<std::size_t>(k)][static_cast<std::size_t>(i)];
    scale(k) = a.col(k).norm();
    if (scale(k) > 0) a.col(k) /= scale(k);
  }
  TermFit fit;
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(a);
  fit.full_rank = qr.rank() == m;
  Eigen::VectorXd c = qr.solve(z);
  c += qr.solve(z - a * c);  // one step of refinement
  const double squares = (z - a * c).squaredNorm();
  fit.residual_sd = n > m ? std::sqrt(squares / static_cast<double>(n - m)) : 0;
  fit.rms = std::sqrt(squares / static_cast<double>(n));
  const Eigen::MatrixXd r = qr.matrixR().topLeftCorner(m, m).triangularView<Eigen::Upper>();
  const Eigen::MatrixXd r_inverse =
      fit.full_rank ? Eigen::MatrixXd(r.triangularView<Eigen::Upper>().solve(Eigen::MatrixXd::Identity(m, m)))
                    : Eigen::MatrixXd::Zero(m, m);
  const Eigen::MatrixXd unpermuted = qr.colsPermutation() * r_inverse;
  for (Eigen::Index k = 0; k < m; ++k) {
    const double s = scale(k) > 0 ? scale(k) : 1;
    fit.coefficients.push_back(c(k) / s);
    fit.standard_errors.push_back(fit.residual_sd * unpermuted.row(k).norm() / s);
  }
  return fit;
}

MapSplit split_map(const HeightMap& map, Vec2 bed_mm, const std::string& source) {
  const std::size_t n = map.at.size();
  std::vector<double> one(n, 1), u, v, uv, uu, vv;
  for (Vec2 p : map.at) {
    u.push_back(2 * p.x / bed_mm.x);
    v.push_back(2 * p.y / bed_mm.y);
    uv.push_back(u.back() * v.back());
    uu.push_back(u.back() * u.back());
    vv.push_back(v.back() * v.back());
  }
  MapSplit split;
  MapTerm* const terms[] = {&split.offset, &split.tilt_x, &split.tilt_y, &split.twist, &split.bow_x, &split.bow_y};
  const double sizes[] = {1, 2, 2, 1, 1, 1};
  const std::vector<double>* const all[] = {&one, &u, &v, &uv, &uu, &vv};
  std::vector<std::size_t> used = {0, 1, 2};
  const auto columns = [&] {
    std::vector<std::vector<double>> out;
    for (std::size_t k : used) out.push_back(*all[k]);
    return out;
  };
  if (n < 3 || !fit_terms(columns(), map.z).full_rank)
    throw BadInput(source, {{"", "", "three points that are not in one line are the least that shows a tilt",
                             "take a grid of three by three or more"}});
  const bool wanted[] = {true, true, true, true, distinct_at_least_3(u), distinct_at_least_3(v)};
  for (std::size_t k = 3; k < 6; ++k) {
    if (!wanted[k] || used.size() >= n) continue;
    used.push_back(k);
    if (!fit_terms(columns(), map.z).full_rank) used.pop_back();
  }
  const TermFit fit = fit_terms(columns(), map.z);
  const double noise = map.noise_mm ? *map.noise_mm / std::sqrt(static_cast<double>(map.repeats)) : 0;
  const double stretch = fit.residual_sd > 0 ? std::max(1.0, noise / fit.residual_sd) : 1;
  std::vector<double> left = map.z;
  for (std::size_t i = 0; i < used.size(); ++i) {
    const std::size_t k = used[i];
    *terms[k] = {fit.coefficients[i] * sizes[k] * um, fit.standard_errors[i] * stretch * sizes[k] * um, true};
    for (std::size_t p = 0; p < n; ++p) left[p] -= fit.coefficients[i] * (*all[k])[p];
  }
  split.residual_rms_um = fit.rms * um;
  for (double r : left) split.residual_max_um = std::max(split.residual_max_um, std::fabs(r) * um);
  return split;
}

double least_range(const std::vector<double>& z, const std::vector<std::vector<double>>& columns) {
  const auto n = static_cast<Eigen::Index>(z.size());
  // An orthonormal basis of the shapes: the simplex then needs no scaling, and dependent shapes drop out.
  Eigen::MatrixXd shapes(n, static_cast<Eigen::Index>(columns.size()) + 1);
  shapes.col(0).setOnes();
  for (std::size_t k = 0; k < columns.size(); ++k)
    for (Eigen::Index i = 0; i < n; ++i)
      shapes(i, static_cast<Eigen::Index>(k) + 1) = columns[k][static_cast<std::size_t>(i)];
  for (Eigen::Index k = 0; k < shapes.cols(); ++k)
    if (shapes.col(k).norm() > 0) shapes.col(k).normalize();
  Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(shapes);
  qr.setThreshold(1e-9);
  const Eigen::Index rank = qr.rank();
  const Eigen::MatrixXd q = qr.householderQ() * Eigen::MatrixXd::Identity(n, rank);
  const Eigen::Map<const Eigen::VectorXd> values(z.data(), n);
  const Eigen::VectorXd rest = values - q * (q.transpose() * values);
  const std::vector<double> b(rest.data(), rest.data() + n);
  if (rest.norm() < 1e-12 * std::max(1.0, values.norm())) return 0;
  return 2 * ZoneSimplex(b, q.transpose() * std::sqrt(static_cast<double>(n))).half_range();
}

}  // namespace bedwright
