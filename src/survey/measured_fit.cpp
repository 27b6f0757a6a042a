#include "survey/measured_fit.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "base/banded.h"

namespace bedwright {
namespace {

constexpr int least_cells = 4;
constexpr double least_tell = 1e-3;  // of the quadric's Gram matrix in the unit square: a three by three grid has 0.05
// Powers of two of the weight. Weaker: what the data leave open is rounding; stronger: the data's own share is.
constexpr int weakest = -20, strongest = 40, coarse_steps = 4;
constexpr std::size_t most_outlier_rounds = 12;

BadInput bad_points(const std::string& message, const std::string& hint) {
  return BadInput("measured points", {{"/frame/dome/points", "", message, hint}});
}

struct Unit {
  Vec2 middle, half;
  Vec2 of(Vec3 p) const { return {(p.x - middle.x) / half.x, (p.y - middle.y) / half.y}; }
};

struct PlanBox {
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
};

PlanBox box_of(const std::vector<Vec3>& points) {
  PlanBox b;
  for (const Vec3& p : points) {
    b.low = {std::min(b.low.x, p.x), std::min(b.low.y, p.y)};
    b.high = {std::max(b.high.x, p.x), std::max(b.high.y, p.y)};
  }
  return b;
}

Unit unit_of(const PlanBox& b) {
  return {0.5 * (b.low + b.high), 0.5 * (b.high - b.low)};
}

using Six = std::array<double, 6>;

Six terms(Vec2 u) {
  return {1, u.x, u.y, u.x * u.x, u.x * u.y, u.y * u.y};
}

Eigen::Matrix<double, 6, 6> gram_of_quadric(const std::vector<Vec3>& points, const Unit& unit) {
  Eigen::Matrix<double, 6, 6> gram = Eigen::Matrix<double, 6, 6>::Zero();
  for (const Vec3& p : points) {
    const Six t = terms(unit.of(p));
    for (int i = 0; i < 6; ++i)
      for (int j = 0; j < 6; ++j) gram(i, j) += t[static_cast<std::size_t>(i)] * t[static_cast<std::size_t>(j)];
  }
  return gram / static_cast<double>(points.size());
}

/// Splines on one cell as polynomials in t: [spline][power].
constexpr double cell_polynomial[4][4] = {
    {1.0 / 6, -0.5, 0.5, -1.0 / 6}, {4.0 / 6, 0, -1, 0.5}, {1.0 / 6, 0.5, 0.5, -0.5}, {0, 0, 0, 1.0 / 6}};

/// Integrals over the axis, in cells, of products of derivatives of the given order: [distance of indices 0 .. 3][i].
std::vector<std::array<double, 4>> gram_of_axis(int cells, int order) {
  double poly[4][4];
  for (int s = 0; s < 4; ++s) {
    std::copy(cell_polynomial[s], cell_polynomial[s] + 4, poly[s]);
    for (int d = 0; d < order; ++d)
      for (int k = 0; k < 4; ++k) poly[s][k] = k < 3 ? (k + 1) * poly[s][k + 1] : 0;
  }
  double product[4][4];
  for (int a = 0; a < 4; ++a)
    for (int b = 0; b < 4; ++b) {
      product[a][b] = 0;
      for (int k = 0; k < 4; ++k)
        for (int l = 0; l < 4; ++l) product[a][b] += poly[a][k] * poly[b][l] / (k + l + 1);
    }
  std::vector<std::array<double, 4>> gram(static_cast<std::size_t>(cells) + 3, {0, 0, 0, 0});
  for (int c = 0; c < cells; ++c)
    for (int a = 0; a < 4; ++a)
      for (int b = 0; b <= a; ++b)
        gram[static_cast<std::size_t>(c + b)][static_cast<std::size_t>(a - b)] += product[a][b];
  return gram;
}

struct Row {
  std::size_t first = 0;  ///< index of the first of sixteen coefficients
  std::array<double, 4> x, y;
};

class Fitter {
 public:
  explicit Fitter(const std::vector<Vec3>& points) : points_(points), box_(box_of(points)) {
    const Vec2 size = box_.high - box_.low;
    const double wanted = std::sqrt(static_cast<double>(points.size()));
    const double across = std::sqrt(size.x / size.y);
    const auto cells = [](double n) { return std::clamp(static_cast<int>(std::ceil(n)), least_cells, most_cells); };
    shape_.low = box_.low;
    shape_.high = box_.high;
    shape_.cells_x = cells(wanted * across);
    shape_.cells_y = cells(wanted / across);
    shape_.beyond_mm = std::min(beyond_share * std::min(size.x, size.y), most_beyond_mm);
    stride_ = static_cast<std::size_t>(shape_.cells_x) + 3;
    count_ = stride_ * (static_cast<std::size_t>(shape_.cells_y) + 3);
    cell_ = {size.x / shape_.cells_x, size.y / shape_.cells_y};
    fit_quadric();
    make_rows();
    make_penalty();
    seek_weight();
  }

  MeasuredShape shape() const {
    MeasuredShape s = shape_;
    s.coefficients = coefficients_;
    add_quadric(s);
    s.free_values = trace_;
    s.smoothing = weight_;
    const double free = static_cast<double>(points_.size()) - trace_;
    s.noise_mm = free > 1e-9 ? std::sqrt(squares_ / free) : 0;
    for (double r : residuals_) s.largest_mm = std::max(s.largest_mm, std::fabs(r));
    return s;
  }

  struct Judged {
    double residual = 0, leverage = 0;
    /// Off the surface that the other points give.
    double off_mm() const { return std::fabs(residual) / std::max(1 - leverage, 1e-6); }
    /// Residuals of one spread: those of points that pull the surface to themselves are small.
    double studentized_mm() const { return std::fabs(residual) / std::sqrt(std::max(1 - leverage, 1e-6)); }
  };
  std::vector<Judged> judged() const {
    std::vector<Judged> all;
    const Band inverse = inverse_in_band(factored_);
    for (std::size_t k = 0; k < rows_.size(); ++k) {
      const Row& r = rows_[k];
      double leverage = 0;
      for (int a = 0; a < 16; ++a)
        for (int b = 0; b < 16; ++b)
          leverage += weight_of(r, a) * weight_of(r, b) * inverse.symmetric(index_of(r, a), index_of(r, b));
      all.push_back({residuals_[k], leverage});
    }
    return all;
  }

 private:
  std::size_t index_of(const Row& r, int a) const {
    return r.first + static_cast<std::size_t>(a / 4) * stride_ + static_cast<std::size_t>(a % 4);
  }
  static double weight_of(const Row& r, int a) {
    return r.x[static_cast<std::size_t>(a % 4)] * r.y[static_cast<std::size_t>(a / 4)];
  }

  void fit_quadric() {
    unit_ = unit_of(box_);
    Eigen::Matrix<double, 6, 1> b = Eigen::Matrix<double, 6, 1>::Zero();
    const double mean = mean_height();
    for (const Vec3& p : points_) {
      const Six t = terms(unit_.of(p));
      for (int i = 0; i < 6; ++i) b(i) += t[static_cast<std::size_t>(i)] * (p.z - mean);
    }
    const Eigen::Matrix<double, 6, 1> x =
        gram_of_quadric(points_, unit_).llt().solve(b / static_cast<double>(points_.size()));
    for (int i = 0; i < 6; ++i) quadric_[static_cast<std::size_t>(i)] = x(i);
    quadric_[0] += mean;
    for (const Vec3& p : points_) {
      const Six t = terms(unit_.of(p));
      double z = p.z;
      for (std::size_t i = 0; i < 6; ++i) z -= quadric_[i] * t[i];
      rest_.push_back(z);
    }
  }

  double mean_height() const {
    double sum = 0;
    for (const Vec3& p : points_) sum += p.z;
    return sum / static_cast<double>(points_.size());
  }

  void make_rows() {
    gram_ = Band(count_, 3 * stride_ + 3);
    right_.assign(count_, 0.0);
    for (std::size_t k = 0; k < points_.size(); ++k) {
      Row r;
      int i = 0, j = 0;
      r.x = spline_weights(shape_.cells_x, 1, (points_[k].x - box_.low.x) / cell_.x, 0, i);
      r.y = spline_weights(shape_.cells_y, 1, (points_[k].y - box_.low.y) / cell_.y, 0, j);
      r.first = static_cast<std::size_t>(j) * stride_ + static_cast<std::size_t>(i);
      for (int a = 0; a < 16; ++a) {
        right_[index_of(r, a)] += weight_of(r, a) * rest_[k];
        for (int b = 0; b <= a; ++b) gram_.at(index_of(r, a), index_of(r, b)) += weight_of(r, a) * weight_of(r, b);
      }
      rows_.push_back(r);
    }
  }

  void make_penalty() {
    penalty_ = Band(count_, gram_.width);
    std::vector<std::array<double, 4>> gx[4], gy[4];
    for (int d = 0; d < 4; ++d) {
      gx[d] = gram_of_axis(shape_.cells_x, d);
      gy[d] = gram_of_axis(shape_.cells_y, d);
    }
    // In lengths of the geometric mean of a cell's sides.
    const double scale = std::sqrt(cell_.x * cell_.y), hx = cell_.x / scale, hy = cell_.y / scale;
    const double share[4] = {1, 3, 3, 1};
    const std::size_t nx = stride_, ny = count_ / stride_;
    for (int d = 0; d < 4; ++d) {
      double factor_d = share[d] * hx * hy;
      for (int k = 0; k < 2 * d; ++k) factor_d /= hx;
      for (int k = 0; k < 2 * (3 - d); ++k) factor_d /= hy;
      const auto &mx = gx[d], &my = gy[3 - d];
      for (std::size_t j = 0; j < ny; ++j)
        for (std::size_t dj = 0; dj < 4 && j + dj < ny; ++dj)
          for (std::size_t i = 0; i < nx; ++i)
            for (std::size_t di = 0; di < 4 && i + di < nx; ++di) {
              const double v = factor_d * mx[i][di] * my[j][dj];
              penalty_.at((j + dj) * nx + i + di, j * nx + i) += v;
              // The mirrored pair (i + di, i): the same entry where dj is 0.
              if (di > 0 && dj > 0) penalty_.at((j + dj) * nx + i, j * nx + i + di) += v;
            }
    }
    double data = 0, bend = 0;
    for (std::size_t i = 0; i < count_; ++i) {
      data += gram_.at(i, i);
      bend += penalty_.at(i, i);
    }
    unit_weight_ = data / bend;
  }

  /// Cross-validation score at weight 2^k; infinite where the system is singular to rounding or nothing is left free.
  double score_at(int k) {
    weight_ = 1;
    for (int i = 0; i < std::abs(k); ++i) weight_ *= k > 0 ? 2.0 : 0.5;
    factored_ = gram_;
    for (std::size_t i = 0; i < factored_.a.size(); ++i) factored_.a[i] += weight_ * unit_weight_ * penalty_.a[i];
    if (!factor(factored_)) return 1e300;
    coefficients_ = right_;
    solve(factored_, coefficients_);
    const Band inverse = inverse_in_band(factored_);
    trace_ = 0;
    for (std::size_t i = 0; i < count_; ++i)
      for (std::size_t j = i > gram_.width ? i - gram_.width : 0; j <= i; ++j)
        trace_ += (i == j ? 1 : 2) * gram_.at(i, j) * inverse.at(i, j);
    residuals_.clear();
    squares_ = 0;
    for (std::size_t p = 0; p < rows_.size(); ++p) {
      double z = 0;
      for (int a = 0; a < 16; ++a) z += weight_of(rows_[p], a) * coefficients_[index_of(rows_[p], a)];
      residuals_.push_back(rest_[p] - z);
      squares_ += residuals_.back() * residuals_.back();
    }
    const double n = static_cast<double>(points_.size()), free = n - trace_;
    return free > 1e-6 * n ? n * squares_ / (free * free) : 1e300;
  }

  void seek_weight() {
    int best = strongest;
    double least = 1e300;
    const auto look = [&](int k) {
      const double s = score_at(k);
      if (s < least) {
        least = s;
        best = k;
      }
    };
    if (points_.size() < least_points_to_judge) {
      score_at(strongest);
      return;
    }
    for (int k = strongest; k >= weakest; k -= coarse_steps) look(k);
    const int around = best;
    for (int k = around + coarse_steps - 1; k > around - coarse_steps; --k)
      if (k != around && k >= weakest && k <= strongest) look(k);
    score_at(best);
  }

  /// A quadric is a spline: x has the coefficients i - 1, x^2 those squared less a third, in cells.
  void add_quadric(MeasuredShape& s) const {
    const std::size_t ny = count_ / stride_;
    for (std::size_t j = 0; j < ny; ++j)
      for (std::size_t i = 0; i < stride_; ++i) {
        const double px = 2.0 / shape_.cells_x, py = 2.0 / shape_.cells_y;
        const double x = (static_cast<double>(i) - 1) * px - 1, y = (static_cast<double>(j) - 1) * py - 1;
        s.coefficients[j * stride_ + i] += quadric_[0] + quadric_[1] * x + quadric_[2] * y +
                                           quadric_[3] * (x * x - px * px / 3) + quadric_[4] * x * y +
                                           quadric_[5] * (y * y - py * py / 3);
      }
  }

  const std::vector<Vec3>& points_;
  PlanBox box_;
  MeasuredShape shape_;
  std::size_t stride_ = 0, count_ = 0;
  Vec2 cell_{};
  Unit unit_{};
  std::array<double, 6> quadric_{};
  std::vector<double> rest_, right_, coefficients_, residuals_;
  std::vector<Row> rows_;
  Band gram_, penalty_, factored_;
  double unit_weight_ = 1, weight_ = 1, trace_ = 0, squares_ = 0;
};

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

std::vector<Vec2> hull_of(const std::vector<Vec3>& points) {
  std::vector<Vec2> sorted;
  for (const Vec3& p : points) sorted.push_back({p.x, p.y});
  const auto before = [](Vec2 a, Vec2 b) { return a.x != b.x ? a.x < b.x : a.y < b.y; };
  std::sort(sorted.begin(), sorted.end(), before);
  std::vector<Vec2> hull;
  for (int side = 0; side < 2; ++side) {
    const std::size_t start = hull.size();
    for (Vec2 p : sorted) {
      while (hull.size() >= start + 2 && cross(hull.back() - hull[hull.size() - 2], p - hull.back()) <= 0)
        hull.pop_back();
      hull.push_back(p);
    }
    hull.pop_back();
    std::reverse(sorted.begin(), sorted.end());
  }
  return hull;
}

/// Slope of the least-squares plane.
Vec2 plane_tilt(const std::vector<Vec3>& points) {
  Vec3 mean{};
  for (const Vec3& p : points) mean = mean + p;
  mean = (1.0 / static_cast<double>(points.size())) * mean;
  double xx = 0, xy = 0, yy = 0, xz = 0, yz = 0;
  for (const Vec3& p : points) {
    const Vec3 d = p - mean;
    xx += d.x * d.x;
    xy += d.x * d.y;
    yy += d.y * d.y;
    xz += d.x * d.z;
    yz += d.y * d.z;
  }
  const double det = xx * yy - xy * xy;
  return {(xz * yy - yz * xy) / det, (yz * xx - xz * xy) / det};
}

/// Leaves out what the neighbours contradict; `kept` are indices into the points.
MeasuredShape fit_judged(const std::vector<Vec3>& points, std::vector<std::size_t>& kept) {
  for (std::size_t i = 0; i < points.size(); ++i) kept.push_back(i);
  std::vector<LeftOut> out;
  const std::size_t most = points.size() >= least_points_to_judge ? points.size() / 20 + 1 : 0;
  for (std::size_t round = 0;; ++round) {
    std::vector<Vec3> used;
    for (std::size_t i : kept) used.push_back(points[i]);
    const Fitter fitter(used);
    const std::vector<Fitter::Judged> judged = fitter.judged();
    std::vector<double> size;
    double largest = 0;
    for (const Fitter::Judged& j : judged) {
      size.push_back(j.studentized_mm());
      largest = std::max(largest, size.back());
    }
    // Median absolute deviation to standard deviation of a normal distribution: 1.4826 (textbook).
    const double limit = outlier_spreads * 1.4826 * median_of(size);
    std::vector<std::size_t> rest;
    // Neighbours of a wrong reading look wrong too: only those nearly as far off as the worst go with it.
    for (std::size_t k = 0; k < kept.size(); ++k) {
      const bool wrong = size[k] > limit && size[k] > 0.6 * largest && judged[k].off_mm() > least_outlier_mm;
      if (wrong && out.size() < most && round < most_outlier_rounds)
        out.push_back({kept[k], points[kept[k]], 0});
      else
        rest.push_back(kept[k]);
    }
    if (rest.size() == kept.size() || !tells_a_quadric(used)) {
      MeasuredShape shape = fitter.shape();
      std::sort(out.begin(), out.end(), [](const LeftOut& a, const LeftOut& b) { return a.index < b.index; });
      // Told against the surface at last, not against the one that other wrong readings still bent.
      for (LeftOut& o : out) o.off_mm = o.at.z - height_on(shape, {o.at.x, o.at.y});
      shape.outliers = std::move(out);
      return shape;
    }
    kept = std::move(rest);
  }
}

}  // namespace

bool tells_a_quadric(const std::vector<Vec3>& points) {
  if (points.size() < 6) return false;
  const PlanBox box = box_of(points);
  if (!(box.high.x > box.low.x && box.high.y > box.low.y)) return false;
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, 6, 6>> solver(gram_of_quadric(points, unit_of(box)),
                                                                          Eigen::EigenvaluesOnly);
  return solver.eigenvalues()(0) > least_tell;
}

std::shared_ptr<const MeasuredShape> fit_measured(const std::vector<Vec3>& points, double lowered_mm) {
  if (points.size() < least_measured_points || points.size() > most_measured_points)
    throw bad_points(std::to_string(points.size()) + " points; a surface takes " +
                         std::to_string(least_measured_points) + " to " + std::to_string(most_measured_points),
                     points.size() < least_measured_points ? "measure a grid of at least 3 by 3" : "thin the scan out");
  for (const Vec3& p : points)
    if (!std::isfinite(p.x + p.y + p.z)) throw bad_points("a point is not a finite number", "");
  if (!tells_a_quadric(points))
    throw bad_points("the points lie on a line, on two, or on one circle, and leave the shape between them open",
                     "measure a grid of at least 3 by 3, the corners and the middle included");
  std::vector<std::size_t> kept;
  MeasuredShape shape = fit_judged(points, kept);
  std::vector<Vec3> used;
  for (std::size_t i : kept) used.push_back(points[i]);
  if (lowered_mm != 0) {
    for (Vec3& p : used) {
      const Vec2 g = spot_on(shape, {p.x, p.y}).gradient;
      const double share = lowered_mm / std::sqrt(1 + dot(g, g));
      p = {p.x + share * g.x, p.y + share * g.y, p.z - share};
    }
    std::vector<LeftOut> outliers = std::move(shape.outliers);
    shape = Fitter(used).shape();
    shape.outliers = std::move(outliers);
  }
  shape.points = points.size();
  shape.origin_z = height_on(shape, {});
  shape.hull = hull_of(used);
  shape.tilt = plane_tilt(used);
  return std::make_shared<const MeasuredShape>(std::move(shape));
}

}  // namespace bedwright
