#include "survey/choose.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "base/trig.h"
#include "survey/distribution.h"
#include "survey/least_squares.h"
#include "survey/robust_start.h"

namespace bedwright {
namespace {

using Columns = std::vector<std::size_t>;

Columns first_columns(std::size_t count) {
  Columns columns(count);
  for (std::size_t k = 0; k < count; ++k) columns[k] = k;
  return columns;
}

/// Least squares of `off` (one a sample) on some of the polynomial's terms.
struct Regression {
  bool ok = false;
  std::array<double, quartic_terms> c{};
  Eigen::MatrixXd cofactor;  ///< in the order of `columns`
  Columns columns;
  double squares = 0;  ///< of all points
  double freedom = 0;
};

class Chooser {
 public:
  Chooser(const Gathered& g, const SurveyOptions& options, Survey& s) : g_(g), options_(options), s_(s) {
    const CutNormal cut = cut_normal(g.cut_sigmas);
    cut_variance_ = cut.variance;
    kept_ = static_cast<double>(g.kept);
  }

  void run() {
    const ShapeModel& m = g_.sphere.model;
    s_.sphere = s_.model = m;
    s_.low = g_.low;
    s_.high = g_.high;
    quadric_ = regress(g_.sphere_off, g_.columns);
    // With as many terms as points nothing is left over to judge by.
    if (!(quadric_.freedom >= 1)) quadric_ = regress(g_.sphere_off, {0, 1, 2, 3});
    share_ = shared_error(g_.sphere_off, regress(g_.sphere_off, richest()));
    say_sphere();
    say_twist();
    decide();
  }

 private:
  Regression regress(const std::vector<double>& off, const Columns& columns) const {
    Regression r;
    r.columns = columns;
    const auto n = static_cast<Eigen::Index>(g_.samples.size()), p = static_cast<Eigen::Index>(columns.size());
    if (n < p) return r;
    const ShapeModel& m = g_.sphere.model;
    Eigen::MatrixXd a(n, p);
    Eigen::VectorXd y(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      const WeightedPoint& at = g_.samples[static_cast<std::size_t>(i)];
      const auto t = polynomial_terms((at.at.x - m.origin.x) / m.reach, (at.at.y - m.origin.y) / m.reach);
      const double w = std::sqrt(at.weight);
      for (Eigen::Index k = 0; k < p; ++k) a(i, k) = w * t[columns[static_cast<std::size_t>(k)]];
      y(i) = w * off[static_cast<std::size_t>(i)];
    }
    const LinearFit fit = linear_least_squares(a, y, 1e-4);
    if (!fit.ok) return r;
    r.ok = true;
    for (Eigen::Index k = 0; k < p; ++k) r.c[columns[static_cast<std::size_t>(k)]] = fit.coefficients(k);
    r.cofactor = fit.cofactor;
    r.squares = fit.residual_sum + g_.inner_squares;
    r.freedom = kept_ - static_cast<double>(p);
    return r;
  }

  double value(const std::array<double, quartic_terms>& c, Vec3 p) const {
    const ShapeModel& m = g_.sphere.model;
    const auto t = polynomial_terms((p.x - m.origin.x) / m.reach, (p.y - m.origin.y) / m.reach);
    double sum = 0;
    for (std::size_t k = 0; k < quartic_terms; ++k) sum += c[k] * t[k];
    return sum;
  }
  double largest(const std::array<double, quartic_terms>& c) const {
    double most = 0;
    for (const WeightedPoint& p : g_.samples) most = std::max(most, std::fabs(value(c, p.at)));
    return most;
  }

  /// The fullest polynomial that the points can carry with ten degrees of freedom over.
  Columns richest() const {
    for (const std::size_t count : {std::size_t{15}, std::size_t{10}}) {
      if (g_.columns.size() < quadric_terms || kept_ < static_cast<double>(count) + 10) continue;
      if (regress(g_.sphere_off, first_columns(count)).ok) return first_columns(count);
    }
    return g_.columns;
  }

  /// By how much the sums of neighbouring points' residuals scatter more than independent ones would: the number of
  /// points that count as one.
  double shared_error(const std::vector<double>& off, const Regression& fit, std::size_t across = 16) const {
    if (g_.kept < many_points || !fit.ok) return 1;
    std::vector<double> sums(across * across), counts(across * across);
    const double wide = std::max(g_.cells_high.x - g_.cells_low.x, 1e-12),
                 deep = std::max(g_.cells_high.y - g_.cells_low.y, 1e-12);
    const double top = static_cast<double>(across) - 1;
    for (std::size_t i = 0; i < g_.samples.size(); ++i) {
      const WeightedPoint& p = g_.samples[i];
      const auto column = static_cast<std::size_t>(std::clamp((p.at.x - g_.cells_low.x) / wide * (top + 1), 0.0, top));
      const auto row = static_cast<std::size_t>(std::clamp((p.at.y - g_.cells_low.y) / deep * (top + 1), 0.0, top));
      sums[row * across + column] += p.weight * (off[i] - value(fit.c, p.at));
      counts[row * across + column] += p.weight;
    }
    double squares = 0, blocks = 0, points = 0;
    for (std::size_t b = 0; b < sums.size(); ++b) {
      if (counts[b] == 0) continue;
      squares += sums[b] * sums[b];
      points += counts[b];
      blocks += 1;
    }
    const double freedom = blocks - static_cast<double>(fit.columns.size());
    const double variance = fit.squares / fit.freedom;
    if (!(freedom > 3) || !(variance > 0)) return 1;
    return std::max(1.0, squares / variance / points * blocks / freedom);
  }

  double sigma(const Regression& r) const {
    return r.freedom > 0 ? std::sqrt(r.squares / r.freedom / cut_variance_) : 0;
  }

  void say_sphere() {
    const ShapeModel& m = g_.sphere.model;
    const auto& v = g_.sphere.cofactor;
    s_.freedom = kept_ - 4;
    // What the sphere leaves out scatters its answer as noise would, and neighbours leave out the same.
    Regression none;
    none.ok = true;
    none.columns = {0, 1, 2, 3};
    none.squares = g_.sphere.residual_sum;
    none.freedom = s_.freedom;
    const double shared = std::max(share_, shared_error(g_.sphere_off, none, 8));
    s_.points_per_share = shared;
    // A cut at k sigma takes weight from the tails: the variance of the estimate grows as that of the kept shrinks.
    const double scale =
        s_.freedom > 0 ? g_.sphere.residual_sum / s_.freedom / (cut_variance_ * cut_variance_) * shared : 0;
    s_.factor = student_quantile(1 - coverage, std::max(1.0, s_.freedom / shared));
    s_.curvature = m.curvature;
    s_.curvature_u = std::sqrt(scale * v[15]);
    s_.crown_up = m.curvature >= 0;
    s_.radius_mm = 1 / std::fabs(m.curvature);
    s_.radius_u_mm = s_.curvature_u / (m.curvature * m.curvature);
    const SphereTop top = sphere_top(m);
    s_.apex = {top.apex.x, top.apex.y};
    double ux = 0, uy = 0;
    for (std::size_t i = 0; i < 4; ++i)
      for (std::size_t j = 0; j < 4; ++j) {
        ux += top.by_x[i] * v[4 * i + j] * top.by_x[j];
        uy += top.by_y[i] * v[4 * i + j] * top.by_y[j];
      }
    s_.apex_u = Vec2{std::sqrt(scale * std::max(0.0, ux)), std::sqrt(scale * std::max(0.0, uy))};
  }

  bool has(std::size_t column) const {
    return std::find(quadric_.columns.begin(), quadric_.columns.end(), column) != quadric_.columns.end();
  }
  double coefficient_u(const Regression& r, std::size_t column) const {
    const auto at = std::find(r.columns.begin(), r.columns.end(), column) - r.columns.begin();
    return sigma(r) * std::sqrt(r.cofactor(at, at) / cut_variance_ * share_);
  }

  void say_twist() {
    s_.twist_half =
        options_.pattern_half ? *options_.pattern_half : Vec2{(g_.high.x - g_.low.x) / 2, (g_.high.y - g_.low.y) / 2};
    if (!has(5)) return;
    // (z++ + z-- - z+- - z-+) / 4 of c X Y; every other term of a quadric cancels.
    const double area = s_.twist_half.x * s_.twist_half.y / (g_.sphere.model.reach * g_.sphere.model.reach);
    s_.twist_mm = quadric_.c[5] * area;
    s_.twist_u_mm = coefficient_u(quadric_, 5) * area;
    s_.twist_factor = student_quantile(1 - coverage, std::max(1.0, quadric_.freedom / share_));
  }

  /// F test of `more` unknowns that lower the squares; `rest` has what is left.
  double by_chance(double gain, double more, const Regression& rest) const {
    if (!(rest.freedom > 0) || !(more > 0)) return 1;
    const double mean = std::max(rest.squares / rest.freedom, 1e-30);
    return f_upper_tail(std::max(0.0, gain) / more / mean / share_, more, std::max(1.0, rest.freedom / share_));
  }
  bool ask(FitShape shape, FitShape against, double p, double effect, double noise) {
    const bool believed = p < believed_below && effect > std::max(noise, least_effect_mm);
    s_.trials.push_back({shape, against, p, effect, believed});
    return believed;
  }

  double lens(double curvature, double half_mm) const { return std::fabs(curvature) * half_mm * half_mm / 2; }

  void decide() {
    const ShapeModel& m = g_.sphere.model;
    s_.noise_mm = sigma(quadric_);
    const double noise = s_.noise_mm;

    const GeometricFit flat = fit_flat(g_.samples, m.origin, m.reach);
    double bow = 0;
    for (const WeightedPoint& p : g_.samples)
      bow = std::max(bow, std::fabs(distance_from(flat.model, p.at) - distance_from(m, p.at)));
    const double p_flat = by_chance(flat.residual_sum + g_.inner_squares - g_.sphere.residual_sum, 1, quadric_);
    const bool curved = p_flat < believed_below && bow > least_effect_mm;
    s_.trials.push_back({FitShape::sphere, FitShape::flat, p_flat, bow, curved});
    s_.shape = curved ? FitShape::sphere : FitShape::flat;
    chosen_squares_ = curved ? g_.sphere.residual_sum : flat.residual_sum + g_.inner_squares;
    chosen_unknowns_ = curved ? 4 : 3;
    if (!curved) s_.model = flat.model;

    const double extra = static_cast<double>(quadric_.columns.size()) - 4;
    if (extra > 0 && quadric_.freedom >= 1) {
      const double p = by_chance(g_.sphere.residual_sum - quadric_.squares, extra, quadric_);
      if (ask(has(5) ? FitShape::saddle : FitShape::two_radius, FitShape::sphere, p, largest(quadric_.c), noise))
        choose_quadric(noise);
    }
    ask_for_more();
    explain();
  }

  void choose_quadric(double noise) {
    const ShapeModel& m = g_.sphere.model;
    const double L = m.reach, unit = 2 / (L * L);
    const double half_x = (g_.high.x - g_.low.x) / 2, half_y = (g_.high.y - g_.low.y) / 2;
    if (has(5)) {
      const double u = coefficient_u(quadric_, 5);
      const double p = u > 0 ? student_two_tails(std::fabs(quadric_.c[5]) / u, quadric_.freedom) : 0;
      if (ask(FitShape::saddle, FitShape::two_radius, p, std::fabs(quadric_.c[5]) * half_x * half_y / (L * L), noise))
        return choose_turned(noise);
    }
    if (!has(4)) return take_saddle();
    // Curvatures along X and Y: of the sphere, less what the quadric adds.
    const double kx = m.curvature - unit * (quadric_.c[3] + quadric_.c[4]);
    const double ky = m.curvature - unit * (quadric_.c[3] - quadric_.c[4]);
    const Eigen::Index at3 = index_of(3), at4 = index_of(4);
    const auto& v = quadric_.cofactor;
    const double s2 = sigma(quadric_) * sigma(quadric_) / cut_variance_ * share_;
    const double ux = unit * std::sqrt(s2 * std::max(0.0, v(at3, at3) + v(at4, at4) + 2 * v(at3, at4)));
    const double uy = unit * std::sqrt(s2 * std::max(0.0, v(at3, at3) + v(at4, at4) - 2 * v(at3, at4)));
    const auto bent = [&](double k, double u, double half) {
      const double p = u > 0 ? student_two_tails(std::fabs(k) / u, quadric_.freedom) : 0;
      return ask(FitShape::two_radius, FitShape::cylinder, p, lens(k, half), noise);
    };
    const bool bent_x = bent(kx, ux, half_x), bent_y = bent(ky, uy, half_y);
    if (bent_x && bent_y) {
      if (kx * ky < 0) return take_saddle();
      const GeometricFit fit = fit_two_radius(g_.samples, m.origin, L);
      if (!fit.ok) return take_saddle();
      s_.shape = FitShape::two_radius;
      s_.model = fit.model;
      chosen_squares_ = fit.residual_sum + g_.inner_squares;
      chosen_unknowns_ = 5;
      const double variance = chosen_squares_ / (kept_ - 5) / (cut_variance_ * cut_variance_) * share_;
      const double k1 = fit.model.curvature_x, k2 = fit.model.curvature_y;
      s_.radii_mm = Vec2{1 / std::fabs(k1), 1 / std::fabs(k2)};
      s_.radii_u_mm = Vec2{std::sqrt(variance * fit.cofactor[3 * 5 + 3]) / (k1 * k1),
                           std::sqrt(variance * fit.cofactor[4 * 5 + 4]) / (k2 * k2)};
      return;
    }
    if (!bent_x && !bent_y) return;
    take_cylinder(bent_x ? Vec2{0, 1} : Vec2{1, 0});
  }

  /// The sheet bows along other lines than X and Y: straight along one of them, or a twist.
  void choose_turned(double noise) {
    const ShapeModel& m = g_.sphere.model;
    if (!has(3) || !has(4)) return take_saddle();
    const double unit = 1 / (m.reach * m.reach);
    // Greatest and least curvature of z = -k (x2 + y2) / 2 + c3 (X2 + Y2) + c4 (X2 - Y2) + c5 X Y: the mean and the
    // difference of the second derivatives (Mohr's circle).
    const double mean = m.curvature - 2 * unit * quadric_.c[3];
    const double deviator = std::sqrt(4 * quadric_.c[4] * quadric_.c[4] + quadric_.c[5] * quadric_.c[5]) * unit;
    const double sign = mean >= 0 ? 1 : -1;
    // Straight where the curvature is least: the deviator taken off the mean's own side.
    const double twice = atan2_rad(sign * quadric_.c[5], 2 * sign * quadric_.c[4]);
    const double c = cos_rad(twice), s = sin_rad(twice);
    const double k = mean - sign * deviator;
    const std::array<double, 3> slope = {2, 2 * c, s};
    const std::array<std::size_t, 3> column = {3, 4, 5};
    double variance = 0;
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j)
        variance += slope[i] * slope[j] * quadric_.cofactor(index_of(column[i]), index_of(column[j]));
    const double u = unit * sigma(quadric_) * std::sqrt(std::max(0.0, variance) / cut_variance_ * share_);
    const double half = std::min(g_.high.x - g_.low.x, g_.high.y - g_.low.y) / 2;
    const double p = u > 0 ? student_two_tails(std::fabs(k) / u, quadric_.freedom) : 0;
    if (ask(FitShape::saddle, FitShape::cylinder, p, lens(k, half), noise)) {
      turned_dome_ = k * sign > 0;
      return take_saddle();
    }
    take_cylinder({cos_rad(twice / 2), sin_rad(twice / 2)});
  }

  Eigen::Index index_of(std::size_t column) const {
    return std::find(quadric_.columns.begin(), quadric_.columns.end(), column) - quadric_.columns.begin();
  }

  void take_cylinder(Vec2 straight) {
    const ShapeModel& m = g_.sphere.model;
    const GeometricFit fit = fit_cylinder(g_.samples, m.origin, m.reach, straight);
    if (!fit.ok) return take_saddle();
    s_.shape = FitShape::cylinder;
    s_.model = fit.model;
    chosen_squares_ = fit.residual_sum + g_.inner_squares;
    chosen_unknowns_ = 5;
    const double variance = chosen_squares_ / (kept_ - 5) / (cut_variance_ * cut_variance_) * share_;
    const double k = fit.model.curvature;
    s_.radii_mm = Vec2{1 / std::fabs(k), 0};
    s_.radii_u_mm = Vec2{std::sqrt(variance * fit.cofactor[3 * 5 + 3]) / (k * k), 0};
    s_.axis_u_rad = std::sqrt(variance * fit.cofactor[4 * 5 + 4]);
    // A kit's cylinder is straight along X or Y: off that line it gains k x y sin(turn) at the data's corners.
    const double across = std::min(std::fabs(fit.model.turn_x), std::fabs(fit.model.turn_y));
    const double turned = std::fabs(k) * (g_.high.x - g_.low.x) * (g_.high.y - g_.low.y) / 4 * across;
    s_.kept_as_points = across > s_.factor * *s_.axis_u_rad && turned > mate_within_mm;
  }

  void take_saddle() {
    s_.shape = FitShape::saddle;
    s_.model = g_.sphere.model;
    s_.model.shape = FitShape::saddle;
    s_.model.added = quadric_.c;
    s_.kept_as_points = true;
    chosen_squares_ = quadric_.squares;
    chosen_unknowns_ = quadric_.columns.size();
  }

  /// Bumps and waves that no simple shape has.
  void ask_for_more() {
    const Columns columns = richest();
    if (columns.size() <= quadric_terms) return;
    std::vector<double> off;
    off.reserve(g_.samples.size());
    for (const WeightedPoint& p : g_.samples) off.push_back(distance_from(s_.model, p.at));
    const Regression rest = regress(off, columns);
    if (!rest.ok) return;
    const double p =
        by_chance(chosen_squares_ - rest.squares, static_cast<double>(columns.size() - chosen_unknowns_), rest);
    if (!ask(FitShape::measured, s_.shape, p, largest(rest.c), sigma(rest))) return;
    const Regression whole = regress(g_.sphere_off, columns);
    s_.shape = FitShape::measured;
    s_.model = g_.sphere.model;
    s_.model.shape = FitShape::measured;
    s_.model.added = whole.c;
    s_.kept_as_points = true;
    s_.noise_mm = sigma(whole);
    chosen_squares_ = whole.squares;
  }

  void explain() {
    s_.rms_mm = std::sqrt(std::max(0.0, chosen_squares_) / kept_);
    const auto mm = [](double v) { return decimal(v, v < 0.1 ? 3 : 2) + " mm"; };
    const std::string noise = mm(s_.noise_mm);
    const auto trial = [&](FitShape shape, FitShape against) -> const ShapeTrial* {
      const ShapeTrial* found = nullptr;
      for (const ShapeTrial& t : s_.trials)
        if (t.shape == shape && t.against == against) found = &t;
      return found;
    };
    switch (s_.shape) {
      case FitShape::flat:
        s_.why = "no bow stands out of the noise of " + noise + " (the best dome would bow " +
                 mm(s_.trials[0].effect_mm) + ")";
        break;
      case FitShape::cylinder:
        s_.why = "curved one way, straight the other within the noise of " + noise;
        if (s_.kept_as_points) s_.why += "; the straight direction is neither X nor Y";
        break;
      case FitShape::two_radius:
        s_.why =
            "the curvatures along X and Y differ, which makes up to " +
            mm(trial(FitShape::saddle, FitShape::sphere) ? trial(FitShape::saddle, FitShape::sphere)->effect_mm
                                                         : trial(FitShape::two_radius, FitShape::sphere)->effect_mm) +
            " against a noise of " + noise;
        break;
      case FitShape::saddle:
        s_.why = turned_dome_ ? "the sheet bows more along one diagonal than along the other: "
                              : "the sheet is twisted like a saddle: ";
        s_.why += s_.twist_mm ? mm(std::fabs(*s_.twist_mm)) + " at the corners of " + decimal(2 * s_.twist_half.x, 0) +
                                    " x " + decimal(2 * s_.twist_half.y, 0) + " mm, against a noise of " + noise
                              : "curved up one way and down the other";
        break;
      case FitShape::measured:
        s_.why = "bumps or waves of up to " + mm(s_.trials.back().effect_mm) +
                 " that no simple shape has, against a noise of " + noise;
        break;
      default:
        s_.why = "no other shape explains more than the noise of " + noise + " does";
    }
  }

  const Gathered& g_;
  const SurveyOptions& options_;
  Survey& s_;
  Regression quadric_;
  double cut_variance_ = 1, kept_ = 0, share_ = 1, chosen_squares_ = 0;
  std::size_t chosen_unknowns_ = 4;
  bool turned_dome_ = false;  ///< bowed one way everywhere, most along a line that is neither X nor Y
};

}  // namespace

void choose_shape(const Gathered& gathered, const SurveyOptions& options, Survey& survey) {
  Chooser(gathered, options, survey).run();
}

}  // namespace bedwright
