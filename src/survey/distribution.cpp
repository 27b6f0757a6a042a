#include "survey/distribution.h"

#include <cmath>

#include "base/trig.h"

namespace bedwright {
namespace {

constexpr double tiny = 1e-300, settled = 1e-15;
constexpr double many = 1e7;  // degrees of freedom from which Student's t is the normal distribution

/// log of the gamma function for x > 0: Stirling's series, shifted up to where it is exact to rounding. std::lgamma
/// keeps a global.
double log_gamma(double x) {
  double shift = 0;
  while (x < 12) shift += std::log(x++);
  const double i = 1 / x, i2 = i * i;
  const double series =
      i *
      (1.0 / 12 - i2 * (1.0 / 360 - i2 * (1.0 / 1260 - i2 * (1.0 / 1680 - i2 * (1.0 / 1188 - i2 * 691.0 / 360360)))));
  return (x - 0.5) * std::log(x) - x + 0.5 * std::log(2 * pi) + series - shift;
}

/// Lentz's continued fraction for the incomplete beta function.
double beta_fraction(double x, double a, double b) {
  double c = 1;
  double d = 1 - (a + b) * x / (a + 1);
  d = 1 / (std::fabs(d) < tiny ? tiny : d);
  double value = d;
  for (int m = 1; m < 20000; ++m) {
    const double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 + even * d;
    c = 1 + even / c;
    d = 1 / (std::fabs(d) < tiny ? tiny : d);
    if (std::fabs(c) < tiny) c = tiny;
    value *= d * c;
    const double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 + odd * d;
    c = 1 + odd / c;
    d = 1 / (std::fabs(d) < tiny ? tiny : d);
    if (std::fabs(c) < tiny) c = tiny;
    value *= d * c;
    if (std::fabs(d * c - 1) < settled) break;
  }
  return value;
}

/// Regularised incomplete beta function; y = 1 - x is passed too, so that neither end loses digits.
double incomplete_beta(double x, double y, double a, double b) {
  if (!(x > 0)) return 0;
  if (!(y > 0)) return 1;
  const double front = std::exp(log_gamma(a + b) - log_gamma(a) - log_gamma(b) + a * std::log(x) + b * std::log(y));
  if (x < (a + 1) / (a + b + 2)) return front * beta_fraction(x, a, b) / a;
  return 1 - front * beta_fraction(y, b, a) / b;
}

/// Upper regularised incomplete gamma function.
double upper_gamma(double a, double x) {
  if (!(x > 0)) return 1;
  const double front = std::exp(a * std::log(x) - x - log_gamma(a));
  if (x < a + 1) {
    double term = 1 / a, sum = term;
    for (int n = 1; n < 100000 && term > sum * settled; ++n) sum += term *= x / (a + n);
    return 1 - front * sum;
  }
  double b = x + 1 - a, c = 1 / tiny, d = 1 / b, value = d;
  for (int i = 1; i < 100000; ++i) {
    const double an = -i * (i - a);
    b += 2;
    d = an * d + b;
    d = 1 / (std::fabs(d) < tiny ? tiny : d);
    c = b + an / c;
    if (std::fabs(c) < tiny) c = tiny;
    value *= d * c;
    if (std::fabs(d * c - 1) < settled) break;
  }
  return front * value;
}

/// Root of a falling tail function, by doubling and halving.
template <typename Tail>
double solve(Tail tail, double wanted) {
  double low = 0, high = 1;
  while (tail(high) > wanted && high < 1e12) {
    low = high;
    high *= 2;
  }
  for (int i = 0; i < 200 && high - low > 1e-15 * high; ++i) {
    const double middle = (low + high) / 2;
    (tail(middle) > wanted ? low : high) = middle;
  }
  return (low + high) / 2;
}

}  // namespace

double f_upper_tail(double f, double a, double b) {
  if (!(f > 0)) return 1;
  const double whole = b + a * f;
  return incomplete_beta(b / whole, a * f / whole, b / 2, a / 2);
}

double chi_squared_upper_tail(double c, double k) {
  return upper_gamma(k / 2, c / 2);
}

double student_two_tails(double t, double k) {
  if (k > many) return normal_two_tails(t);
  const double whole = k + t * t;
  return incomplete_beta(k / whole, t * t / whole, k / 2, 0.5);
}

double student_quantile(double tails, double k) {
  if (k > many) return normal_quantile(tails);
  return solve([k](double t) { return student_two_tails(t, k); }, tails);
}

double normal_two_tails(double z) {
  return upper_gamma(0.5, z * z / 2);
}

double normal_quantile(double tails) {
  return solve(normal_two_tails, tails);
}

}  // namespace bedwright
