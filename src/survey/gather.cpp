#include "survey/gather.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/finite.h"
#include "base/numbers.h"
#include "base/trig.h"
#include "survey/distribution.h"
#include "survey/least_squares.h"
#include "survey/robust_start.h"
#include "survey/whole_pass.h"

namespace bedwright {
namespace {

constexpr std::size_t sample_points = 1000;  // for the robust start
constexpr std::size_t few_points = 24;       // below: outliers one at a time, by studentised residuals
constexpr std::size_t some_points = 200;     // below: what the robust start left out is asked back in, nearest first
constexpr std::size_t fewest_points = 5;     // a sphere has four unknowns
constexpr double cut_contaminated = 3;       // in standard deviations, once there are outliers at all
constexpr double chance_of_any = 0.05;       // that clean normal data are taken to have outliers
constexpr double leaning_deg = 15;           // of the whole sheet against the XY plane
constexpr double slim = 0.02;                // ratio of the spreads below which points are a line
constexpr double least_noise = 1e-9;         // of the data's size: rounding
// When passes have come to rest, in one point's noise: of few points to rounding, of millions far below their
// uncertainty.
constexpr double still = 1e-9, still_enough = 1e-5;

[[noreturn]] void refuse(const std::string& source, const std::string& message, const std::string& hint) {
  throw BadInput(source, {{"", "", message, hint}});
}

[[noreturn]] void refuse_standing(const std::string& source, double degrees) {
  refuse(source, "the sheet stands at " + decimal(degrees, 0) + " degrees to the XY plane of these points",
         "heights must be along Z: name three features with --origin, --on-x and --on-plane, or let --level turn it");
}

double quantile(std::vector<double>& values, double share) {
  const std::ptrdiff_t at = std::lround(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

struct Middle {
  Vec3 origin{};
  double reach = 0;
};

/// Medians and the half width of the middle half: no clump of outliers moves them far.
Middle middle_of(const std::vector<Vec3>& points) {
  std::vector<double> x, y, z;
  for (const Vec3& p : points) {
    x.push_back(p.x);
    y.push_back(p.y);
    z.push_back(p.z);
  }
  Middle m;
  m.origin = {quantile(x, 0.5), quantile(y, 0.5), quantile(z, 0.5)};
  m.reach = std::max({quantile(x, 0.8) - quantile(x, 0.2), quantile(y, 0.8) - quantile(y, 0.2)});
  return m;
}

void require_breadth(const std::vector<Vec3>& points, const std::string& source) {
  Vec3 mean{};
  const double n = static_cast<double>(points.size());
  for (const Vec3& p : points) mean = mean + (1 / n) * p;
  double xx = 0, xy = 0, yy = 0, zz = 0;
  for (const Vec3& p : points) {
    const Vec3 q = p - mean;
    xx += q.x * q.x;
    xy += q.x * q.y;
    yy += q.y * q.y;
    zz += q.z * q.z;
  }
  const double half = (xx + yy) / 2, off = std::sqrt((xx - yy) * (xx - yy) / 4 + xy * xy);
  if (!(half + off > 0) && !(zz > 0)) refuse(source, "all points lie in one place", "take them spread over the sheet");
  if (std::sqrt(std::max(0.0, half - off)) >= slim * std::sqrt(half + off)) return;
  if (zz > 0.04 * (half + off)) refuse_standing(source, 90);
  refuse(source, "all points lie on one line (seen from above)",
         "a line says nothing about the other direction: take points over the whole sheet, both diagonals included; "
         "readings along one line go in as --straightedge and --gap");
}

/// Which of the six terms the points can tell apart; the first four are what a sphere needs.
std::vector<std::size_t> distinct_columns(const std::vector<Vec3>& points, Vec3 origin, double reach,
                                          const std::string& source) {
  std::vector<std::size_t> columns;
  for (std::size_t k = 0; k < quadric_terms; ++k) {
    std::vector<std::size_t> trial = columns;
    trial.push_back(k);
    Eigen::MatrixXd a(static_cast<Eigen::Index>(points.size()), static_cast<Eigen::Index>(trial.size()));
    for (std::size_t i = 0; i < points.size(); ++i) {
      const Vec3 q = points[i] - origin;
      const auto terms = polynomial_terms(q.x / reach, q.y / reach);
      for (std::size_t j = 0; j < trial.size(); ++j)
        a(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = terms[trial[j]];
    }
    const bool fits = linear_least_squares(a, Eigen::VectorXd::Zero(a.rows()), 1e-3).ok;
    if (fits) columns = trial;
    if (!fits && k == 3)
      refuse(source, "the points cannot see a dome: they all lie on one ring", "add points in the middle of the sheet");
    if (!fits && k < 3) refuse(source, "the points do not span an area", "take points over the whole sheet");
  }
  return columns;
}

/// Half the step in which heights were read, where many of them are the same number; 0 otherwise.
double reading_step(const std::vector<Vec3>& points) {
  std::vector<double> z;
  for (const Vec3& p : points) z.push_back(p.z);
  std::sort(z.begin(), z.end());
  double step = 1e300;
  std::size_t distinct = 1;
  for (std::size_t i = 1; i < z.size(); ++i) {
    const double d = z[i] - z[i - 1];
    if (!(d > 1e-9 * (z.back() - z.front()))) continue;
    ++distinct;
    step = std::min(step, d);
  }
  return distinct > 1 && distinct <= z.size() / 2 ? step / 2 : 0;
}

ShapeModel sphere_of(const std::array<double, quadric_terms>& c, Vec3 origin, double reach) {
  ShapeModel m;
  m.shape = FitShape::sphere;
  m.origin = origin;
  m.reach = reach;
  m.offset = c[0];
  m.lean_x = -c[1] / reach;
  m.lean_y = -c[2] / reach;
  m.curvature = -2 * c[3] / (reach * reach);
  return m;
}

/// Passes until set and sphere stand still: the step below `least_step` of one point's noise, the set within a share of
/// it.
PassSums settle(const std::vector<Vec3>& points, Gathered& g, double sigma_floor, int most_passes, double least_step) {
  PassSums sums;
  std::size_t before = 0;
  for (int pass = 0; pass < most_passes; ++pass) {
    g.cut_mm = g.cut_sigmas < 1e6 ? g.cut_sigmas * g.estimate.sigma : 1e300;
    sums = pass_over(points, g.estimate, g.cut_mm);
    double step = 0;
    if (!improve(g.estimate, sums, g.columns, g.cut_sigmas, sigma_floor, step)) break;
    const std::size_t change = sums.kept > before ? sums.kept - before : before - sums.kept;
    if (static_cast<double>(change) <= least_step * static_cast<double>(sums.kept) && step < least_step) break;
    before = sums.kept;
  }
  return sums;
}

std::vector<WeightedPoint> weighted(const std::vector<Vec3>& points) {
  std::vector<WeightedPoint> list;
  list.reserve(points.size());
  for (const Vec3& p : points) list.push_back({p, 1});
  return list;
}

/// Few points: the one that stands out most is left out while chance explains it in less than one set of 500.
void leave_out_one_by_one(std::vector<Vec3>& points, const std::vector<std::size_t>& columns, Vec3 origin, double reach,
                          double noise_floor, std::vector<Vec3>& left_out) {
  const std::size_t most = points.size() * 3 / 10;
  while (left_out.size() < most && points.size() >= columns.size() + 3) {
    const auto n = static_cast<Eigen::Index>(points.size()), p = static_cast<Eigen::Index>(columns.size());
    Eigen::MatrixXd a(n, p);
    Eigen::VectorXd z(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      const Vec3 q = points[static_cast<std::size_t>(i)] - origin;
      const auto terms = polynomial_terms(q.x / reach, q.y / reach);
      for (Eigen::Index k = 0; k < p; ++k) a(i, k) = terms[columns[static_cast<std::size_t>(k)]];
      z(i) = q.z;
    }
    const LinearFit fit = linear_least_squares(a, z, 1e-9);
    if (!fit.ok) return;
    const Eigen::VectorXd r = z - a * fit.coefficients;
    const double freedom = static_cast<double>(n - p - 1);
    Eigen::Index worst = -1;
    double largest = 0;
    for (Eigen::Index i = 0; i < n; ++i) {
      const double leverage = (a.row(i) * fit.cofactor * a.row(i).transpose()).value();
      if (leverage > 1 - 1e-6 || std::fabs(r(i)) < noise_floor) continue;
      const double rest = (fit.residual_sum - r(i) * r(i) / (1 - leverage)) / freedom;
      const double t = std::fabs(r(i)) / std::sqrt(std::max(rest, noise_floor * noise_floor) * (1 - leverage));
      if (t > largest) {
        largest = t;
        worst = i;
      }
    }
    // Bonferroni: the largest of n.
    if (worst < 0 || student_two_tails(largest, freedom) * static_cast<double>(n) > 0.002) return;
    left_out.push_back(points[static_cast<std::size_t>(worst)]);
    points.erase(points.begin() + worst);
  }
}

/// A robust start trims honest points of small sets too. Those left out come back, nearest first, while they are no
/// farther off than the tail that was trimmed would be if all points were honest. Splits `points`; returns the last
/// limit in standard deviations.
double ask_back(const std::vector<Vec3>& points, const Gathered& g, double noise_floor, std::vector<Vec3>& kept,
                std::vector<Vec3>& left_out) {
  const ShapeModel& sphere = g.estimate.sphere;
  const auto n = static_cast<Eigen::Index>(points.size()), p = static_cast<Eigen::Index>(g.columns.size());
  Eigen::MatrixXd a(n, p);
  Eigen::VectorXd d(n);
  std::vector<bool> in(points.size());
  Eigen::Index count = 0;
  for (Eigen::Index i = 0; i < n; ++i) {
    const Vec3 at = points[static_cast<std::size_t>(i)], q = at - sphere.origin;
    const auto terms = polynomial_terms(q.x / sphere.reach, q.y / sphere.reach);
    for (Eigen::Index k = 0; k < p; ++k) a(i, k) = terms[g.columns[static_cast<std::size_t>(k)]];
    d(i) = distance_from(sphere, at);
    in[static_cast<std::size_t>(i)] = std::fabs(above(g.estimate, at)) <= g.cut_mm;
    if (in[static_cast<std::size_t>(i)]) ++count;
  }
  double limit = 1e9;
  while (count < n) {
    Eigen::MatrixXd rows(count, p);
    Eigen::VectorXd y(count);
    for (Eigen::Index i = 0, row = 0; i < n; ++i) {
      if (!in[static_cast<std::size_t>(i)]) continue;
      rows.row(row) = a.row(i);
      y(row++) = d(i);
    }
    const LinearFit fit = linear_least_squares(rows, y, 1e-6);
    if (!fit.ok || fit.freedom < 1) break;
    const double share = static_cast<double>(count) / static_cast<double>(n);
    const double variance = cut_normal(normal_quantile(1 - share)).variance;
    const double sigma = std::max(fit.residual_sd / std::sqrt(variance), noise_floor);
    limit = student_quantile(chance_of_any / static_cast<double>(n), fit.freedom);
    Eigen::Index nearest = -1;
    double least = limit;
    for (Eigen::Index i = 0; i < n; ++i) {
      if (in[static_cast<std::size_t>(i)]) continue;
      const double leverage = (a.row(i) * fit.cofactor * a.row(i).transpose()).value();
      const double t = std::fabs(d(i) - a.row(i).dot(fit.coefficients)) / (sigma * std::sqrt(1 + leverage));
      if (!(t < least)) continue;
      least = t;
      nearest = i;
    }
    if (nearest < 0) break;
    in[static_cast<std::size_t>(nearest)] = true;
    ++count;
  }
  for (std::size_t i = 0; i < points.size(); ++i) (in[i] ? kept : left_out).push_back(points[i]);
  return count < n ? limit : 1e9;
}

/// Where a cell's points lie on the sphere, in the mean.
Vec3 place_of(const Cell& cell, const ShapeModel& sphere) {
  const double x = cell.x / cell.n, y = cell.y / cell.n;
  return {x, y, height_of(sphere, x, y)};
}

/// The quadric that `improve` found before the sphere took its share over.
std::array<double, quadric_terms> regressed_of(const Estimate& to, const Estimate& from) {
  const ShapeModel &m = to.sphere, &was = from.sphere;
  std::array<double, quadric_terms> c = to.left;
  c[0] += m.offset - was.offset;
  c[1] -= (m.lean_x - was.lean_x) * m.reach;
  c[2] -= (m.lean_y - was.lean_y) * m.reach;
  c[3] -= (m.curvature - was.curvature) * m.reach * m.reach / 2;
  return c;
}

/// The cells with points as rows of a regression: what it needs of them stays the same while the sphere settles.
struct CellRows {
  std::vector<Vec3> at;
  std::vector<double> n;
  Eigen::MatrixXd terms;  ///< a column a cell
  Eigen::LDLT<Eigen::MatrixXd> normal;
};

CellRows rows_of(const std::vector<Cell>& cells, const ShapeModel& sphere, const std::vector<std::size_t>& columns) {
  CellRows rows;
  for (const Cell& cell : cells) {
    if (cell.n == 0) continue;
    rows.at.push_back(place_of(cell, sphere));
    rows.n.push_back(cell.n);
  }
  const auto p = static_cast<Eigen::Index>(columns.size());
  rows.terms.resize(p, static_cast<Eigen::Index>(rows.at.size()));
  Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(p, p);
  Eigen::VectorXd t(p);
  for (std::size_t i = 0; i < rows.at.size(); ++i) {
    const auto terms = polynomial_terms((rows.at[i].x - sphere.origin.x) / sphere.reach,
                                        (rows.at[i].y - sphere.origin.y) / sphere.reach);
    for (Eigen::Index k = 0; k < p; ++k) t(k) = terms[columns[static_cast<std::size_t>(k)]];
    normal += rows.n[i] * t * t.transpose();
    rows.terms.col(static_cast<Eigen::Index>(i)) = t;
  }
  rows.normal.compute(normal);
  return rows;
}

/// After `improve`: the least squares of the quadric where the sphere has gone, by the cells' places, in place of what
/// holds on a shallow dome alone.
void regress_again(Estimate& to, const Estimate& from, const std::vector<std::size_t>& columns, const CellRows& rows) {
  const std::vector<double> off = distances_from(to.sphere, rows.at);
  Eigen::VectorXd rhs = Eigen::VectorXd::Zero(rows.terms.rows());
  for (std::size_t i = 0; i < off.size(); ++i) rhs += rows.n[i] * off[i] * rows.terms.col(static_cast<Eigen::Index>(i));
  const Eigen::VectorXd c = rows.normal.solve(rhs);
  if (!c.allFinite()) return;
  to.left = regressed_of(to, from);
  for (Eigen::Index k = 0; k < c.size(); ++k) to.left[columns[static_cast<std::size_t>(k)]] += c(k);
}

/// The cells' means as samples off the sphere that was settled on; what they leave out of the squares.
void into_samples(const std::vector<Cell>& cells, const ShapeModel& before, Gathered& g) {
  const ShapeModel& m = g.sphere.model;
  const SphereTop top = sphere_top(m);
  double squares = 0;
  for (const Cell& cell : cells) {
    if (cell.n == 0) continue;
    const double d = cell.d / cell.n + distance_from(m, place_of(cell, before));
    const Vec3 at = place_of(cell, m);
    // Off the sphere along its normal; a plane has no centre.
    Vec3 normal{0, 0, 1};
    if (std::isfinite(top.centre.z) && std::fabs(m.curvature) > 1e-12) {
      const Vec3 out = (m.curvature > 0 ? 1.0 : -1.0) * (at - top.centre);
      normal = (1 / length(out)) * out;
    }
    g.samples.push_back({at + d * normal, cell.n});
    g.sphere_off.push_back(d);
    squares += cell.n * d * d;
  }
  g.inner_squares = std::max(0.0, g.sphere.residual_sum - squares);
}

/// Millions of points, looked at once: sphere, quadric and cut settle on the sums of what surely belongs and on the few
/// points near the cut. Once more where they moved farther than was allowed for.
void settle_on_all(const Cloud& cloud, Gathered& g, double sigma_floor, const Grid& grid, const AtOnce& at_once) {
  constexpr double allowance = 0.25;  // in standard deviations: what 20,000 of the points leave open is a sixth of it
  constexpr double outer = 4.5;       // in standard deviations: few points lie farther out
  constexpr int most_looks = 6, most_rounds = 30;
  g.cells_low = grid.low;
  g.cells_high = grid.high;
  for (int look = 0; look < most_looks; ++look) {
    const Estimate from = g.looked_from = g.estimate;
    const double cut_mm = g.cut_sigmas * from.sigma, allowed = allowance * from.sigma;
    g.sure_mm = std::min(cut_mm - allowed, outer * from.sigma);
    const WholePass pass = look_over(cloud, from, g.sure_mm, cut_mm + allowed, grid, at_once);
    const CellRows rows = rows_of(pass.cells, from.sphere, g.columns);
    g.cut_mm = cut_mm;
    PassSums sums;
    std::vector<bool> belongs, before;
    for (int round = 0; round < most_rounds; ++round) {
      belongs.assign(pass.doubtful.size(), false);
      g.outermost.clear();
      for (std::size_t i = 0; i < pass.doubtful.size(); ++i) {
        belongs[i] = std::fabs(above(g.estimate, pass.doubtful[i])) <= g.cut_mm;
        if (belongs[i]) g.outermost.push_back(pass.doubtful[i]);
      }
      if (round > 0 && belongs == before) break;
      before = belongs;
      sums = pass.sure;
      add(sums, pass_over(g.outermost, from, 1e300));
      Estimate next = from;
      double step = 0;
      if (!improve(next, sums, g.columns, g.cut_sigmas, sigma_floor, step)) break;
      regress_again(next, from, g.columns, rows);
      g.estimate = next;
      g.cut_mm = g.cut_sigmas * next.sigma;
    }
    // Of the sums about the sphere that was, those about the one that is: a sphere's distances are straight in so small
    // a move.
    const ShapeModel &m = g.estimate.sphere, &was = from.sphere;
    const Eigen::Vector4d move(m.offset - was.offset, m.lean_x - was.lean_x, m.lean_y - was.lean_y,
                               m.curvature - was.curvature);
    g.kept = sums.kept;
    g.low = sums.low;
    g.high = sums.high;
    g.sphere.ok = true;
    g.sphere.unknowns = 4;
    g.sphere.model = m;
    g.sphere.residual_sum = sums.squares - 2 * move.dot(sums.rhs) + move.dot(sums.normal * move);
    const Eigen::Matrix4d inverse = sums.normal.ldlt().solve(Eigen::Matrix4d::Identity());
    for (int i = 0; i < 4; ++i)
      for (int j = 0; j < 4; ++j) g.sphere.cofactor[static_cast<std::size_t>(4 * i + j)] = inverse(i, j);
    std::vector<Cell> cells = pass.cells;
    for (const Vec3& p : g.outermost) {
      Cell& cell = cells[cell_of(grid, p)];
      cell = {cell.n + 1, cell.x + p.x, cell.y + p.y, cell.d + distance_from(was, p)};
    }
    g.samples.clear();
    g.sphere_off.clear();
    into_samples(cells, was, g);
    double moved = 0;
    for (const WeightedPoint& p : g.samples)
      moved = std::max(moved, std::fabs(above(g.estimate, p.at) - above(from, p.at)));
    if (between_cells * moved + std::fabs(g.cut_mm - cut_mm) <= allowed) break;
  }
}

/// Of many points: the cut is decided, then passes over all of them.
void take_all(const Cloud& cloud, Gathered& g, double noise_floor, std::vector<Vec3>& kept_points,
              const AtOnce& at_once) {
  const bool large = cloud.count > most_single_points;
  const std::vector<Vec3>& points = *cloud.some;
  const std::vector<Vec3> some = large ? sampled(points, most_single_points) : std::vector<Vec3>();
  if (large) settle(some, g, noise_floor, 20, still_enough);
  // Is there anything that normal noise would not do in so many points?
  const std::vector<Vec3>& asked = large ? some : points;
  g.cut_sigmas = normal_quantile(chance_of_any / static_cast<double>(asked.size()));
  const PassSums kept = pass_over(asked, g.estimate, g.cut_sigmas * g.estimate.sigma);
  const bool clean = kept.kept == asked.size();
  // Of millions even clean ones may hold a few that the sample missed: they are cut where no honest one lies.
  g.cut_sigmas = !clean  ? cut_contaminated
                 : large ? normal_quantile(chance_of_any / static_cast<double>(cloud.count))
                         : 1e9;
  if (large) {
    settle_on_all(cloud, g, noise_floor, Grid(kept.low, kept.high), at_once);
    const std::size_t stride = std::max<std::size_t>(1, points.size() / (20 * shown_points));
    for (std::size_t i = 0; i < points.size(); i += stride)
      (std::fabs(above(g.estimate, points[i])) <= g.cut_mm ? g.used : g.left_out).push_back(points[i]);
    return;
  }
  const PassSums sums = settle(points, g, noise_floor, 60, still);
  g.kept = sums.kept;
  g.low = sums.low;
  g.high = sums.high;
  for (const Vec3& p : points) (std::fabs(above(g.estimate, p)) <= g.cut_mm ? kept_points : g.left_out).push_back(p);
}

/// An even choice of at most `most`.
void thin(std::vector<Vec3>& points, std::size_t most) {
  if (points.size() > most) points = sampled(points, most);
}

}  // namespace

Gathered gather(const Cloud& cloud, const std::string& source, const AtOnce& at_once) {
  const std::vector<Vec3>& points = *cloud.some;  // all of them, where they are few
  if (cloud.count < fewest_points)
    refuse(source,
           std::to_string(cloud.count) + (cloud.count == 1 ? " point is" : " points are") +
               " too few: a dome needs 5, and its uncertainty 9 or more",
           "take a grid of 3 by 3 at least, over the whole sheet");
  for (const Vec3& p : points)
    if (!is_finite(p)) refuse(source, "a coordinate is not a finite number", "export the points again");
  Gathered g;
  g.points = cloud.count;
  const std::vector<Vec3> sample = sampled(points, sample_points);
  require_breadth(sample, source);
  const Middle middle = middle_of(sample);
  if (!(middle.reach > 0)) refuse(source, "most points lie in one place", "take them spread over the sheet");
  const Vec3 normal = main_normal(sample, at_once);
  if (normal.z < cos_rad(leaning_deg * rad_per_deg)) refuse_standing(source, acos_rad(normal.z) / rad_per_deg);
  g.columns = distinct_columns(sample, middle.origin, middle.reach, source);
  const double noise_floor = std::max(least_noise * middle.reach, reading_step(sample));

  std::vector<Vec3> kept_points;
  if (cloud.count < few_points) {
    kept_points = points;
    leave_out_one_by_one(kept_points, g.columns, middle.origin, middle.reach, noise_floor, g.left_out);
  } else {
    const RobustStart start = least_trimmed_squares(sample, middle.origin, middle.reach, g.columns, at_once);
    if (!start.ok)
      refuse(source, "the points do not agree on any surface",
             "look at them; leave out what is not the sheet with --region");
    g.estimate.sphere = sphere_of(start.coefficients, middle.origin, middle.reach);
    g.estimate.left[4] = start.coefficients[4];
    g.estimate.left[5] = start.coefficients[5];
    g.estimate.sigma = std::max(start.sigma, noise_floor);
    g.cut_sigmas = cut_contaminated;
    settle(sample, g, noise_floor, 40, still);
    if (cloud.count < some_points) {
      g.cut_sigmas = ask_back(points, g, noise_floor, kept_points, g.left_out);
    } else {
      take_all(cloud, g, noise_floor, kept_points, at_once);
    }
  }
  if (cloud.count <= most_single_points) {
    if (kept_points.size() < fewest_points) refuse(source, "the points do not agree on any surface", "measure again");
    g.columns = distinct_columns(kept_points, middle.origin, middle.reach, source);
    g.samples = weighted(kept_points);
    g.sphere = fit_sphere(g.samples, middle.origin, middle.reach);
    if (!g.sphere.ok) refuse(source, "the points do not decide a sphere", "take more points, over the whole sheet");
    for (const WeightedPoint& p : g.samples) g.sphere_off.push_back(distance_from(g.sphere.model, p.at));
    g.kept = kept_points.size();
    g.low = g.high = kept_points.front();
    for (const Vec3& p : kept_points) {
      g.low = {std::min(g.low.x, p.x), std::min(g.low.y, p.y), std::min(g.low.z, p.z)};
      g.high = {std::max(g.high.x, p.x), std::max(g.high.y, p.y), std::max(g.high.z, p.z)};
    }
    g.cells_low = g.low;
    g.cells_high = g.high;
    g.used = std::move(kept_points);
  }
  thin(g.used, shown_points);
  thin(g.left_out, shown_points / 3);
  return g;
}

}  // namespace bedwright
