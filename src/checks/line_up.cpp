#include "checks/line_up.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace bedwright {
namespace {

constexpr double near_enough_mm = 1e-4;
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

/// Where a convex function is least.
template <typename F>
double place_of_least(double low, double high, int passes, F value) {
  for (int i = 0; i < passes; ++i) {
    const double a = low + (high - low) / 3, b = high - (high - low) / 3;
    if (value(a) < value(b))
      high = b;
    else
      low = a;
  }
  return (low + high) / 2;
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

/// Whether some shift, and with three dimensions some turn, brings every screw into its hole's play. Ellipsoid method with
/// deep cuts (Bland, Goldfarb, Todd 1981): what is left of the shifts and turns shrinks by a fixed share a step or more,
/// until a place is found or none is left. The turn counts as the way of a point `arm` from the middle.
template <int n>
bool some_place_does(const std::vector<Fit>& fits, double arm) {
  const double reach = reach_of(fits), most = most_turn_rad * arm;
  Row at{};
  std::array<Row, 3> ball{{{n * reach * reach, 0, 0}, {0, n * reach * reach, 0}, {0, 0, n == 3 ? n * most * most : 0}}};
  for (int step = 0; step < most_cuts; ++step) {
    Slope slope = slope_at(fits, {at[0], at[1]}, at[2] / arm);
    if (std::fabs(at[2]) > most)
      slope = {std::fabs(at[2]) - most + near_enough_mm, {0, 0, at[2] > 0 ? 1.0 : -1.0}};
    else if (slope.off <= near_enough_mm)
      return true;
    else
      slope.gradient[2] /= arm;
    Row toward{};
    for (int i = 0; i < n; ++i) toward[i] = dot3(ball[i], slope.gradient);
    const double width = std::sqrt(std::max(dot3(toward, slope.gradient), 0.0));
    // Nowhere in what is left is it as little as wanted.
    if (slope.off - near_enough_mm >= width) return false;
    const double depth = (slope.off - near_enough_mm) / width, go = (1 + n * depth) / (n + 1);
    for (double& t : toward) t /= width;
    for (int i = 0; i < n; ++i) at[i] -= go * toward[i];
    for (int i = 0; i < n; ++i)
      for (int k = 0; k < n; ++k)
        ball[i][k] =
            n * n * (1 - depth * depth) / (n * n - 1.0) * (ball[i][k] - 2 * go / (1 + depth) * toward[i] * toward[k]);
  }
  return false;
}

}  // namespace

double off_by(const std::vector<Fit>& fits) {
  return fits.empty() ? 0 : off_by_moved(fits, {}, 0);
}

bool lines_up(const std::vector<Fit>& fits) {
  if (off_by(fits) <= near_enough_mm) return true;
  if (distances_differ(fits)) return false;
  double arm = 1;
  for (const Fit& f : fits) arm = std::max(arm, length(f.hole));
  return some_place_does<3>(fits, arm);
}

bool lines_up_square(const std::vector<Fit>& fits) {
  if (off_by(fits) <= near_enough_mm) return true;
  if (offsets_differ(fits)) return false;
  return some_place_does<2>(fits, 1);
}

BestPlace best_place(const std::vector<Fit>& fits) {
  BestPlace best;
  if (fits.empty()) return best;
  constexpr int passes = 18;  // of a few millimetres, 1e-3 remain
  const double reach = reach_of(fits);
  // What does not change while y is sought: how far along x each screw stands off, and how its hole turns.
  struct Across {
    double off_x, turned_y;
  };
  std::vector<Across> across(fits.size());
  const auto off_for_y = [&](double y) {
    double worst = -1e300;
    for (std::size_t i = 0; i < fits.size(); ++i) {
      const Vec2 d{across[i].off_x, fits[i].screw.y - (fits[i].hole.y + y + across[i].turned_y)};
      worst = std::max(worst, off_by_one(fits[i], d));
    }
    return worst;
  };
  const auto y_for = [&](double x, double turn) {
    for (std::size_t i = 0; i < fits.size(); ++i)
      across[i] = {fits[i].screw.x - (fits[i].hole.x + x + turn * -fits[i].hole.y), turn * fits[i].hole.x};
    return place_of_least(-reach, reach, passes, off_for_y);
  };
  const auto off_for = [&](double x, double turn) { return off_by_moved(fits, {x, y_for(x, turn)}, turn); };
  const auto x_for = [&](double turn) {
    return place_of_least(-reach, reach, passes, [&](double x) { return off_for(x, turn); });
  };
  const double turn =
      place_of_least(-most_turn_rad, most_turn_rad, passes, [&](double t) { return off_for(x_for(t), t); });
  best.turn_rad = turn;
  best.shift.x = x_for(turn);
  best.shift.y = y_for(best.shift.x, turn);
  best.off_mm = off_by_moved(fits, best.shift, turn);
  if (off_by(fits) <= best.off_mm + 1e-3) best = {{}, 0, off_by(fits)};  // as drawn is as good
  return best;
}

std::vector<double> offs_at(const std::vector<Fit>& fits, const BestPlace& place) {
  std::vector<double> offs;
  for (const Fit& f : fits)
    offs.push_back(off_by_one(f, f.screw - (f.hole + place.shift + place.turn_rad * Vec2{-f.hole.y, f.hole.x})));
  return offs;
}

}  // namespace bedwright
