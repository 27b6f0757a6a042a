#include "base/trig.h"

#include <cmath>

namespace bedwright {
namespace {

// pi/2 in two parts (Cody and Waite): the first has 33 bits, so quarter * high is exact for |quarter| < 2^20.
constexpr double half_pi_high = 1.57079632673412561417e+00;
constexpr double half_pi_low = 6.07710050650619224932e-11;

struct Reduced {
  double x;
  int quadrant;
};

Reduced reduce(double angle_rad) {
  const double quarter = std::floor(angle_rad * (2.0 / pi) + 0.5);
  const double x = (angle_rad - quarter * half_pi_high) - quarter * half_pi_low;
  const double wrapped = quarter - 4.0 * std::floor(quarter / 4.0);
  return {x, static_cast<int>(wrapped)};
}

// Taylor series; |x| <= pi/4 + rounding, first term left out below 1e-18.
double sin_core(double x) {
  const double s = x * x;
  double sum = 1.0 / 355687428096000.0;  // 1/17!
  sum = sum * s - 1.0 / 1307674368000.0;
  sum = sum * s + 1.0 / 6227020800.0;
  sum = sum * s - 1.0 / 39916800.0;
  sum = sum * s + 1.0 / 362880.0;
  sum = sum * s - 1.0 / 5040.0;
  sum = sum * s + 1.0 / 120.0;
  sum = sum * s - 1.0 / 6.0;
  return x + x * s * sum;
}

double cos_core(double x) {
  const double s = x * x;
  double sum = -1.0 / 6402373705728000.0;  // 1/18!
  sum = sum * s + 1.0 / 20922789888000.0;
  sum = sum * s - 1.0 / 87178291200.0;
  sum = sum * s + 1.0 / 479001600.0;
  sum = sum * s - 1.0 / 3628800.0;
  sum = sum * s + 1.0 / 40320.0;
  sum = sum * s - 1.0 / 720.0;
  sum = sum * s + 1.0 / 24.0;
  return 1.0 - 0.5 * s + s * s * sum;
}

// Arctangent for 0 <= t <= 1: three halvings t -> t / (1 + sqrt(1 + t^2)), then the series.
double atan_unit(double t) {
  for (int i = 0; i < 3; ++i) t = t / (1.0 + std::sqrt(1.0 + t * t));
  const double s = t * t;
  double sum = 0;
  for (int k = 21; k >= 3; k -= 2) sum = s * ((k % 4 == 3 ? -1.0 : 1.0) / k + sum);
  return 8.0 * (t + t * sum);
}

}  // namespace

double sin_rad(double angle_rad) {
  const Reduced r = reduce(angle_rad);
  switch (r.quadrant) {
    case 0: return sin_core(r.x);
    case 1: return cos_core(r.x);
    case 2: return -sin_core(r.x);
    default: return -cos_core(r.x);
  }
}

double cos_rad(double angle_rad) {
  const Reduced r = reduce(angle_rad);
  switch (r.quadrant) {
    case 0: return cos_core(r.x);
    case 1: return -sin_core(r.x);
    case 2: return -cos_core(r.x);
    default: return sin_core(r.x);
  }
}

double atan2_rad(double y, double x) {
  if (x == 0 && y == 0) return 0;
  const double ax = std::fabs(x), ay = std::fabs(y);
  double a = ay <= ax ? atan_unit(ay / ax) : pi / 2 - atan_unit(ax / ay);
  if (x < 0) a = pi - a;
  return y < 0 ? -a : a;
}

double acos_rad(double c) {
  if (c >= 1) return 0;
  if (c <= -1) return pi;
  return atan2_rad(std::sqrt((1 - c) * (1 + c)), c);
}

}  // namespace bedwright
