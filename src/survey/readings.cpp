#include "survey/readings.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "kit/straightedge.h"
#include "survey/distribution.h"
#include "survey/least_squares.h"

namespace bedwright {
namespace {

constexpr double shortest_edge_mm = 20, longest_edge_mm = 3000;

/// One curvature: k = mean + difference cos 2a + twist sin 2a, along the direction at the angle a.
struct Curve {
  double k = 0, u = 0;
  double cos2 = 0, sin2 = 0;
  double half = 0;    ///< mm
  double to_gap = 0;  ///< mm of gap for 1/mm of curvature
  bool directed = true;
};

void check_size(const std::string& what, double length, double gap, std::vector<Problem>& problems) {
  if (!(length >= shortest_edge_mm && length <= longest_edge_mm))
    problems.push_back(
        {what, shortest(length), decimal(length, 4) + " mm is outside 20 to 3000 mm",
         length > 0 && length < 20 ? "lengths are millimetres: did you type inches or centimetres?" : ""});
  else if (!(std::fabs(gap) < length / 4))
    problems.push_back({what, shortest(gap),
                        "a gap of " + decimal(gap, 4) + " mm under " + decimal(length, 4) + " mm is no sheet",
                        "did you swap length and gap?"});
}

Curve edge_curve(const StraightedgeReading& r, double gap_u, Vec2 diagonal) {
  Curve c;
  const double square = r.length_mm * r.length_mm, s = r.gap_mm;
  // k = 8 s / (c^2 + 4 s^2); its derivatives by s and c.
  const double whole = square + 4 * s * s;
  c.k = 8 * s / whole;
  const double by_gap = 8 * (square - 4 * s * s) / (whole * whole), by_length = -16 * s * r.length_mm / (whole * whole);
  c.u = std::sqrt(by_gap * by_gap * gap_u * gap_u +
                  by_length * by_length * length_uncertainty_mm * length_uncertainty_mm);
  c.half = r.length_mm / 2;
  c.to_gap = square / 8;
  if (r.along == "x") c.cos2 = 1;
  if (r.along == "y") c.cos2 = -1;
  if (r.along == "d1" || r.along == "d2") {
    const double whole2 = dot(diagonal, diagonal);
    c.cos2 = (diagonal.x * diagonal.x - diagonal.y * diagonal.y) / whole2;
    c.sin2 = (r.along == "d1" ? 2 : -2) * diagonal.x * diagonal.y / whole2;
  }
  c.directed = !r.along.empty();
  return c;
}

Curve leg_curve(const ThreeLegReading& r, double gap_u) {
  Curve c;
  const double rr = r.circle_mm / 2, s = r.reading_mm;
  // Three even legs feel the mean curvature alone: whatever differs by direction cancels.
  c.k = s == 0 ? 0 : (s > 0 ? 1 : -1) / radius_from_three_legs(r);
  const double whole = rr * rr + s * s;
  c.u = 2 * (rr * rr - s * s) / (whole * whole) * gap_u;
  c.half = rr;
  c.to_gap = rr * rr / 2;
  c.directed = false;
  return c;
}

struct Weighted {
  bool ok = false;
  Eigen::VectorXd x;
  Eigen::MatrixXd cofactor;
  double chi2 = 0;
  int freedom = 0;
};

Weighted solve(const std::vector<Curve>& curves, const std::vector<int>& which) {
  Eigen::MatrixXd a(static_cast<Eigen::Index>(curves.size()), static_cast<Eigen::Index>(which.size()));
  Eigen::VectorXd y(a.rows());
  for (Eigen::Index i = 0; i < a.rows(); ++i) {
    const Curve& c = curves[static_cast<std::size_t>(i)];
    const double terms[3] = {1, c.cos2, c.sin2};
    for (Eigen::Index k = 0; k < a.cols(); ++k) a(i, k) = terms[which[static_cast<std::size_t>(k)]] / c.u;
    y(i) = c.k / c.u;
  }
  const LinearFit fit = linear_least_squares(a, y, 1e-6);
  return {fit.ok, fit.coefficients, fit.cofactor, fit.residual_sum, fit.freedom};
}

class ReadingSurvey {
 public:
  ReadingSurvey(std::vector<Curve> curves, Vec2 half, bool crown_up, double gap_u)
      : curves_(std::move(curves)), half_(half), sign_(crown_up ? 1 : -1), gap_u_(gap_u) {}

  Survey run() {
    Survey s;
    s.points = curves_.size();
    s.noise_mm = gap_u_;
    s.twist_half = half_;
    double reach = 0;
    for (const Curve& c : curves_) reach = std::max(reach, c.half);
    s.low = {-reach, -reach, 0};
    s.high = {reach, reach, 0};

    const Weighted mean = solve(curves_, {0});
    std::vector<int> which{0};
    for (int k : {1, 2}) {
      std::vector<int> trial = which;
      trial.push_back(k);
      if (solve(curves_, trial).ok) which = trial;
    }
    const bool sees_difference = std::count(which.begin(), which.end(), 1) > 0;
    const bool sees_twist = std::count(which.begin(), which.end(), 2) > 0;
    const Weighted full = solve(curves_, which);

    // Readings that scatter more than their stated uncertainty explains speak for themselves.
    double spread = 1;
    s.freedom = 0;
    s.factor = normal_quantile(1 - coverage);
    if (full.freedom > 0 && chi_squared_upper_tail(full.chi2, full.freedom) < 0.01) {
      spread = std::sqrt(full.chi2 / full.freedom);
      s.freedom = full.freedom;
      s.factor = student_quantile(1 - coverage, full.freedom);
    }
    s.twist_factor = s.factor;
    const double k = mean.x(0), u = spread * std::sqrt(mean.cofactor(0, 0));
    s.curvature = sign_ * k;
    // Directions that disagree make the mean less sure than its readings are.
    const double misfit = mean.freedom > 0 ? std::max(1.0, std::sqrt(mean.chi2 / mean.freedom) / spread) : 1;
    s.curvature_u = u * misfit;
    s.crown_up = s.curvature >= 0;
    s.radius_mm = 1 / std::fabs(k);
    s.radius_u_mm = s.curvature_u / (k * k);
    s.sphere.shape = FitShape::sphere;
    s.sphere.reach = reach;
    s.sphere.curvature = s.curvature;
    s.model = s.sphere;

    const double p_flat = normal_two_tails(std::fabs(k) / u);
    double bow = 0;
    for (const Curve& c : curves_) bow = std::max(bow, std::fabs(k) * c.to_gap);
    const bool curved = p_flat < believed_below && bow > least_effect_mm;
    s.trials.push_back({FitShape::sphere, FitShape::flat, p_flat, bow, curved});
    s.shape = curved ? FitShape::sphere : FitShape::flat;
    s.why = curved ? "no other shape explains more than the readings' uncertainty of " + decimal(gap_u_, 3) + " mm does"
                   : "no gap stands out of the readings' uncertainty of " + decimal(gap_u_, 3) + " mm";

    const double kd = sees_difference ? full.x(1) : 0;
    const auto at_twist = static_cast<Eigen::Index>(which.size()) - 1;
    const double kt = sees_twist ? full.x(at_twist) : 0;
    if (sees_twist) {
      s.twist_mm = -sign_ * kt * half_.x * half_.y;
      s.twist_u_mm = spread * std::sqrt(full.cofactor(at_twist, at_twist)) * half_.x * half_.y;
    }
    if (which.size() > 1) decide(s, full, which, mean.chi2, kd, kt, spread, sees_twist);
    if (s.shape == FitShape::flat) {
      s.model.shape = FitShape::flat;
      s.model.curvature = 0;
    }
    double squares = 0;
    for (const Curve& c : curves_) {
      const double r = (c.k - fitted(s, c, k, kd, kt, full)) * c.to_gap;
      squares += r * r;
      s.max_residual_mm = std::max(s.max_residual_mm, std::fabs(r));
    }
    s.rms_mm = std::sqrt(squares / static_cast<double>(curves_.size()));
    return s;
  }

 private:
  static double fitted(const Survey& s, const Curve& c, double k, double kd, double kt, const Weighted& full) {
    if (s.shape == FitShape::flat) return 0;
    if (s.shape == FitShape::sphere) return k;
    return full.x(0) + kd * c.cos2 + kt * c.sin2;
  }

  void decide(Survey& s, const Weighted& full, const std::vector<int>& which, double mean_chi2, double kd, double kt,
              double spread, bool sees_twist) const {
    const double p = chi_squared_upper_tail(std::max(0.0, mean_chi2 - full.chi2) / (spread * spread),
                                            static_cast<double>(which.size() - 1));
    const double k = full.x(0);
    double effect = 0;
    for (const Curve& c : curves_)
      effect = std::max(effect, std::fabs(k + kd * c.cos2 + kt * c.sin2 - sign_ * s.curvature) * c.to_gap);
    const bool differs = p < believed_below && effect > gap_u_;
    s.trials.push_back({sees_twist ? FitShape::saddle : FitShape::two_radius, FitShape::sphere, p, effect, differs});
    if (!differs) return;
    const double L2 = s.model.reach * s.model.reach;
    ShapeModel quadric = s.sphere;
    quadric.shape = FitShape::saddle;
    quadric.curvature = sign_ * k;
    quadric.added[4] = -sign_ * kd * L2 / 2;
    quadric.added[5] = -sign_ * kt * L2;
    if (sees_twist) {
      const auto at = static_cast<Eigen::Index>(which.size()) - 1;
      const double u = spread * std::sqrt(full.cofactor(at, at));
      const double pt = normal_two_tails(std::fabs(kt) / u), et = std::fabs(kt) * half_.x * half_.y;
      const bool twisted = pt < believed_below && et > gap_u_;
      s.trials.push_back({FitShape::saddle, FitShape::two_radius, pt, et, twisted});
      if (twisted) {
        s.shape = FitShape::saddle;
        s.kept_as_points = true;
        s.model = quadric;
        s.why = "the diagonals disagree: twisted like a saddle by " + decimal(std::fabs(*s.twist_mm), 2) +
                " mm at the corners of " + decimal(2 * half_.x, 0) + " x " + decimal(2 * half_.y, 0) + " mm";
        return;
      }
    }
    const double kx = k + kd, ky = k - kd;
    const auto& v = full.cofactor;
    const double both = v(0, 0) + v(1, 1), ux = spread * std::sqrt(std::max(0.0, both + 2 * v(0, 1))),
                 uy = spread * std::sqrt(std::max(0.0, both - 2 * v(0, 1)));
    const auto bent = [&](double curve, double u, double half) {
      const double pb = normal_two_tails(std::fabs(curve) / u), eb = std::fabs(curve) * half * half / 2;
      const bool b = pb < believed_below && eb > gap_u_;
      s.trials.push_back({FitShape::two_radius, FitShape::cylinder, pb, eb, b});
      return b;
    };
    const bool bent_x = bent(kx, ux, s.model.reach), bent_y = bent(ky, uy, s.model.reach);
    if (!bent_x && !bent_y) return;
    if (bent_x && bent_y && kx * ky < 0) {
      s.shape = FitShape::saddle;
      s.kept_as_points = true;
      s.model = quadric;
      s.why = "it bows one way along X and the other way along Y: a saddle";
      return;
    }
    if (bent_x && bent_y) {
      s.shape = FitShape::two_radius;
      s.model.shape = FitShape::two_radius;
      s.model.curvature_x = sign_ * kx;
      s.model.curvature_y = sign_ * ky;
      s.radii_mm = Vec2{1 / std::fabs(kx), 1 / std::fabs(ky)};
      s.radii_u_mm = Vec2{ux / (kx * kx), uy / (ky * ky)};
      s.why = "the curvatures along X and Y differ by more than the readings' uncertainty explains";
      return;
    }
    s.shape = FitShape::cylinder;
    s.model.shape = FitShape::cylinder;
    const double curve = bent_x ? kx : ky;
    s.model.curvature = sign_ * curve;
    s.model.turn_x = bent_x ? 0 : 1;
    s.model.turn_y = bent_x ? 1 : 0;
    s.radii_mm = Vec2{1 / std::fabs(curve), 0};
    s.radii_u_mm = Vec2{(bent_x ? ux : uy) / (curve * curve), 0};
    s.why = "curved one way, straight the other within the readings' uncertainty";
  }

  std::vector<Curve> curves_;
  Vec2 half_;
  double sign_ = 1, gap_u_ = 0;
};

}  // namespace

double radius_from_three_legs(const ThreeLegReading& r) {
  const double rr = r.circle_mm / 2, s = std::fabs(r.reading_mm);
  return rr * rr / (2 * s) + s / 2 + (r.reading_mm > 0 ? -r.foot_radius_mm : r.foot_radius_mm);
}

Survey survey_readings(const std::vector<StraightedgeReading>& edges, const std::vector<ThreeLegReading>& legs,
                       const ReadingOptions& options) {
  std::vector<Problem> problems;
  for (std::size_t i = 0; i < edges.size(); ++i)
    check_size("--straightedge " + std::to_string(i + 1), edges[i].length_mm, edges[i].gap_mm, problems);
  for (std::size_t i = 0; i < legs.size(); ++i) {
    const std::string what = "--leg-circle " + std::to_string(i + 1);
    const std::size_t before = problems.size();
    check_size(what, legs[i].circle_mm, legs[i].reading_mm, problems);
    if (problems.size() == before && legs[i].reading_mm != 0 &&
        !(radius_from_three_legs(legs[i]) > legs[i].circle_mm / 2))
      problems.push_back({what, shortest(legs[i].reading_mm), "no sheet is bent so much", "is --foot-radius right?"});
  }
  if (!problems.empty()) throw BadInput("readings", problems);
  if (edges.empty() && legs.empty())
    throw BadUsage("no readings: give --straightedge and --gap, or --leg-circle and --reading");

  // The diagonals' direction: of the hole pattern if it is known, else of the box of the lengths along X and Y, else 45
  // degrees.
  Vec2 box{};
  double diagonal_half = 0;
  for (const StraightedgeReading& r : edges) {
    if (r.along == "x") box.x = std::max(box.x, r.length_mm / 2);
    if (r.along == "y") box.y = std::max(box.y, r.length_mm / 2);
    if (r.along == "d1" || r.along == "d2") diagonal_half = std::max(diagonal_half, r.length_mm / 2);
  }
  Vec2 half = box;
  if (!(half.x > 0 && half.y > 0)) half = {diagonal_half * std::sqrt(0.5), diagonal_half * std::sqrt(0.5)};
  if (options.pattern_half) half = *options.pattern_half;
  const double gap_u = options.gap_u_mm > 0 ? options.gap_u_mm
                       : edges.empty()      ? dial_uncertainty_mm
                                            : feeler_uncertainty_mm;
  std::vector<Curve> curves;
  for (const StraightedgeReading& r : edges) curves.push_back(edge_curve(r, gap_u, half));
  for (const ThreeLegReading& r : legs)
    curves.push_back(leg_curve(r, options.gap_u_mm > 0 ? options.gap_u_mm : dial_uncertainty_mm));
  return ReadingSurvey(std::move(curves), half, options.crown_up, gap_u).run();
}

}  // namespace bedwright
