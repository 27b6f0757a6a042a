#include "kit/straightedge.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"

namespace bedwright {

namespace {

constexpr double flattest_radius_mm = 1e6;  // the schema's greatest radius

struct Curvature {
  double value = 0, uncertainty = 0;  // 1/mm
};

Curvature curvature(double length_mm, double gap_mm) {
  const double uncertainty = 8 * feeler_uncertainty_mm / (length_mm * length_mm);
  return {gap_mm > 0 ? 1 / radius_from_straightedge(length_mm, gap_mm) : 0, uncertainty};
}

bool alike(Curvature a, Curvature b) {
  return std::fabs(a.value - b.value) <= 2 * std::sqrt(a.uncertainty * a.uncertainty + b.uncertainty * b.uncertainty);
}

bool flat(Curvature c) {
  return c.value * flattest_radius_mm <= 1;
}

double to_whole_mm(double radius_mm) {
  return std::floor(radius_mm + 0.5);
}

std::string gaps_text(double a, double b) {
  return decimal(a, 2) + " and " + decimal(b, 2) + " mm";
}

}  // namespace

double radius_from_straightedge(double length_mm, double gap_mm) {
  return length_mm * length_mm / (8 * gap_mm) + gap_mm / 2;
}

StraightedgeDome dome_from_straightedge(const StraightedgeReadings& r) {
  const Curvature x = curvature(r.length_x_mm, r.gap_x_mm), y = curvature(r.length_y_mm, r.gap_y_mm);
  const Curvature d1 = curvature(r.length_diagonal_mm, r.gap_d1_mm), d2 = curvature(r.length_diagonal_mm, r.gap_d2_mm);
  StraightedgeDome dome;
  if (!alike(d1, d2)) {
    dome.saddle = true;
    dome.warning = "The diagonals disagree (" + gaps_text(r.gap_d1_mm, r.gap_d2_mm) +
                   "): the sheet is twisted like a saddle, and the shape above leaves the twist out. Take a grid of "
                   "points and use bedwright survey before you print.";
  }
  if (flat(x) && flat(y)) {
    dome.shape = "flat";
    dome.words = "flat";
    return dome;
  }
  if (flat(x) || flat(y)) {
    dome.shape = "cylinder";
    dome.axis = flat(x) ? "x" : "y";
    dome.radius_mm = to_whole_mm(1 / std::max(x.value, y.value));
    dome.words = "a cylinder of radius " + decimal(dome.radius_mm, 0) + " mm, straight along " + (flat(x) ? "X" : "Y");
    return dome;
  }
  if (!alike(x, y)) {
    dome.shape = "two_radius";
    dome.radius_x_mm = to_whole_mm(1 / x.value);
    dome.radius_y_mm = to_whole_mm(1 / y.value);
    dome.words =
        "two radii: " + decimal(dome.radius_x_mm, 0) + " mm along X, " + decimal(dome.radius_y_mm, 0) + " mm along Y";
    return dome;
  }
  // Of one accuracy each, so the plain mean; the diagonals count because a sphere bows alike in all directions.
  const double mean = (x.value + y.value + d1.value + d2.value) / 4;
  const double uncertainty =
      std::sqrt(x.uncertainty * x.uncertainty + y.uncertainty * y.uncertainty + 2 * d1.uncertainty * d1.uncertainty) /
      4;
  dome.shape = "sphere";
  dome.radius_mm = to_whole_mm(1 / mean);
  dome.words = "a sphere of radius " + decimal(dome.radius_mm, 0) + " mm, give or take " +
               decimal(std::ceil(uncertainty / mean / mean), 0) + " mm";
  return dome;
}

}  // namespace bedwright
