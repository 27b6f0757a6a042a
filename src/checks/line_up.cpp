#include "checks/line_up.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace bedwright {
namespace {

constexpr double near_enough_mm = 1e-4;
constexpr double as_good_mm = 1e-3;
constexpr double most_turn_rad = 0.1;
constexpr int most_cuts = 600;  // 300 take a few millimetres to near_enough_mm

/// d: from the hole to the screw.
double off_by_one(const Fit& f, Vec2 d) {
  const double u = dot(d, f.along), v = cross(f.along, d);
  const double beyond = std::max(std::fabs(u) - f.extra_mm / 2, 0.0);
  return length(Vec2{beyond, v}) - f.float_mm;
}

double off_by_moved(const std::vector<Fit>& fits, Vec2 shift, double turn) {
  double worst = -1e300;
  for (const Fit& f : fits)
    worst = std::max(worst, off_by_one(f, f.screw - (f.hole + shift + turn * Vec2{-f.hole.y, f.hole.x})));
  return worst;
}

/// How far a shift may have to go: no farther than the first screw's own play allows.
double reach_of(const std::vector<Fit>& fits) {
  const Fit& first = fits.front();
  return length(first.screw - first.hole) + first.float_mm + first.extra_mm / 2 + most_turn_rad * length(first.hole);
}

using Row = std::array<double, 3>;

double dot3(const Row& a, const Row& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/// The worst screw's distance off, and how it grows with shift and turn.
struct Slope {
  double off = -1e300;
  Row gradient{};
};

Slope slope_at(const std::vector<Fit>& fits, Vec2 shift, double turn) {
  Slope worst;
  for (const Fit& f : fits) {
    const Vec2 d = f.screw - (f.hole + shift + turn * Vec2{-f.hole.y, f.hole.x});
    const double u = dot(d, f.along), v = cross(f.along, d);
    const double beyond = std::max(std::fabs(u) - f.extra_mm / 2, 0.0), away = length(Vec2{beyond, v});
    if (away - f.float_mm <= worst.off) continue;
    worst.off = away - f.float_mm;
    const Vec2 to_screw =
        away > 0 ? (1 / away) * ((u < 0 ? -beyond : beyond) * f.along + v * Vec2{-f.along.y, f.along.x}) : Vec2{};
    worst.gradient = {-to_screw.x, -to_screw.y, cross(to_screw, f.hole)};
  }
  return worst;
}

/// No rigid motion changes a distance between two holes, so the screws' distance must be within both floats of it.
bool distances_differ(const std::vector<Fit>& fits) {
  for (std::size_t i = 0; i < fits.size(); ++i)
    for (std::size_t j = i + 1; j < fits.size(); ++j) {
      const Fit &a = fits[i], &b = fits[j];
      const double play = a.float_mm + b.float_mm + (a.extra_mm + b.extra_mm) / 2;
      const double holes = length(a.hole - b.hole), screws = length(a.screw - b.screw);
      if (std::fabs(holes - screws) > play + near_enough_mm) return true;
    }
  return false;
}

/// A shift moves all holes alike, so what two screws stand off their holes may differ by both floats only.
bool offsets_differ(const std::vector<Fit>& fits) {
  for (std::size_t i = 0; i < fits.size(); ++i)
    for (std::size_t j = i + 1; j < fits.size(); ++j) {
      const Fit &a = fits[i], &b = fits[j];
      const double play = a.float_mm + b.float_mm + (a.extra_mm + b.extra_mm) / 2;
      if (length((a.screw - a.hole) - (b.screw - b.hole)) > play + near_enough_mm) return true;
    }
  return false;
}

double arm_of(const std::vector<Fit>& fits) {
  double arm = 1;
  for (const Fit& f : fits) arm = std::max(arm, length(f.hole));
  return arm;
}

enum class Sought { enough, least };

/// A place, by a shift and with three dimensions a turn, at which every screw is in its hole's play; or, where the least
/// is sought, the one with the worst screw best off to near_enough_mm. Ellipsoid method with deep cuts (Bland, Goldfarb,
/// Todd 1981): what is left of the shifts and turns shrinks by a fixed share a step or more, until nothing in it can be
/// as little off as wanted. The turn counts as the way of a point `arm` from the middle.
template <int n>
BestPlace searched(const std::vector<Fit>& fits, Sought sought, double reach, double arm) {
  const double most = most_turn_rad * arm;
  BestPlace best{{}, 0, 1e300};
  Row at{};
  std::array<Row, 3> ball{{{n * reach * reach, 0, 0}, {0, n * reach * reach, 0}, {0, 0, n == 3 ? n * most * most : 0}}};
  for (int step = 0; step < most_cuts; ++step) {
    Slope slope = slope_at(fits, {at[0], at[1]}, at[2] / arm);
    double beyond = std::fabs(at[2]) - most;
    if (beyond > 0) {
      slope.gradient = {0, 0, at[2] > 0 ? 1.0 : -1.0};
    } else {
      if (slope.off < best.off_mm) best = {{at[0], at[1]}, at[2] / arm, slope.off};
      if (sought == Sought::enough && best.off_mm <= near_enough_mm) return best;
      beyond = slope.off - (sought == Sought::enough ? near_enough_mm : best.off_mm - near_enough_mm);
      slope.gradient[2] /= arm;
    }
    Row toward{};
    for (int i = 0; i < n; ++i) toward[i] = dot3(ball[i], slope.gradient);
    const double width = std::sqrt(std::max(dot3(toward, slope.gradient), 0.0));
    // Nowhere in what is left is it as little as wanted.
    if (beyond >= width) return best;
    const double depth = beyond / width, go = (1 + n * depth) / (n + 1);
    for (double& t : toward) t /= width;
    for (int i = 0; i < n; ++i) at[i] -= go * toward[i];
    for (int i = 0; i < n; ++i)
      for (int k = 0; k < n; ++k)
        ball[i][k] =
            n * n * (1 - depth * depth) / (n * n - 1.0) * (ball[i][k] - 2 * go / (1 + depth) * toward[i] * toward[k]);
  }
  return best;
}

}  // namespace

double off_by(const std::vector<Fit>& fits) {
  return fits.empty() ? 0 : off_by_moved(fits, {}, 0);
}

bool lines_up(const std::vector<Fit>& fits) {
  if (off_by(fits) <= near_enough_mm) return true;
  if (distances_differ(fits)) return false;
  return searched<3>(fits, Sought::enough, reach_of(fits), arm_of(fits)).off_mm <= near_enough_mm;
}

bool lines_up_square(const std::vector<Fit>& fits) {
  if (off_by(fits) <= near_enough_mm) return true;
  if (offsets_differ(fits)) return false;
  return searched<2>(fits, Sought::enough, reach_of(fits), 1).off_mm <= near_enough_mm;
}

BestPlace best_place(const std::vector<Fit>& fits) {
  if (fits.empty()) return {};
  const BestPlace drawn{{}, 0, off_by(fits)};
  // Where no place will do, the first screw may stay off as well.
  const double reach = reach_of(fits) + std::max(drawn.off_mm, 0.0);
  const BestPlace best = searched<3>(fits, Sought::least, reach, arm_of(fits));
  return drawn.off_mm <= best.off_mm + as_good_mm ? drawn : best;
}

std::vector<double> offs_at(const std::vector<Fit>& fits, const BestPlace& place) {
  std::vector<double> offs;
  for (const Fit& f : fits)
    offs.push_back(off_by_one(f, f.screw - (f.hole + place.shift + place.turn_rad * Vec2{-f.hole.y, f.hole.x})));
  return offs;
}

}  // namespace bedwright
