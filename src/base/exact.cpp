#include "base/exact.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <vector>

namespace bedwright {
namespace {

constexpr double epsilon = 1.1102230246251565e-16;  // 2^-53
constexpr double orient_bound = (7.0 + 56.0 * epsilon) * epsilon;
constexpr double plane_bound = (3.0 + 16.0 * epsilon) * epsilon;

int sign_of(double v) {
  return (v > 0) - (v < 0);
}

void two_sum(double a, double b, double& sum, double& error) {
  sum = a + b;
  const double bb = sum - a;
  error = (a - (sum - bb)) + (b - bb);
}

void split(double a, double& high, double& low) {
  const double c = 134217729.0 * a;  // 2^27 + 1
  high = c - (c - a);
  low = a - high;
}

void two_product(double a, double b, double& product, double& error) {
  product = a * b;
  double ah, al, bh, bl;
  split(a, ah, al);
  split(b, bh, bl);
  error = al * bl - (((product - ah * bh) - al * bh) - ah * bl);
}

/// A number as the sum of doubles that do not overlap, smallest first.
class Expansion {
 public:
  void add(double b) {
    std::vector<double> next;
    for (double e : parts_) {
      double sum, error;
      two_sum(b, e, sum, error);
      if (error != 0) next.push_back(error);
      b = sum;
    }
    if (b != 0) next.push_back(b);
    parts_ = next;
  }
  void add_product(double a, double b, double c) {
    double high, low;
    two_product(a, b, high, low);
    for (double part : {low, high}) {
      double p, e;
      two_product(part, c, p, e);
      add(e);
      add(p);
    }
  }
  int sign() const { return parts_.empty() ? 0 : sign_of(parts_.back()); }

 private:
  std::vector<double> parts_;
};

/// a - b where no bit of it is lost.
bool exact_difference(double a, double b, double& out) {
  out = a - b;
  const double bb = a - out;
  return (a - (out + bb)) + (bb - b) == 0;
}

/// What makes whole numbers below 2^39 of numbers up to `greatest` > 0, as a power of two. Products of two stay below
/// 2^78, and a 3 x 3 determinant below 2^120.
double whole_scale(double greatest) {
  std::uint64_t bits;
  std::memcpy(&bits, &greatest, sizeof bits);
  const auto exponent = static_cast<std::int64_t>(bits >> 52) - 1023;  // of a normal number; the sign is not set
  const std::int64_t wanted = 38 - exponent;
  if (exponent < -1000 || wanted < -1000) return std::ldexp(1.0, 38 - std::ilogb(greatest));
  bits = static_cast<std::uint64_t>(wanted + 1023) << 52;
  double scale;
  std::memcpy(&scale, &bits, sizeof scale);
  return scale;
}

bool whole(double v, double scale, std::int64_t& out) {
  const double scaled = v * scale;
  if (!(std::fabs(scaled) < 549755813888.0)) return false;
  out = static_cast<std::int64_t>(scaled);
  return static_cast<double>(out) == scaled;
}

/// Differences of float32 corners that lie near each other are whole numbers of some small unit.
bool whole_differences(const Vec3 (&from)[3], const Vec3& to, std::int64_t (&out)[3][3]) {
  double d[3][3], greatest = 0;
  for (int i = 0; i < 3; ++i) {
    if (!exact_difference(from[i].x, to.x, d[i][0]) || !exact_difference(from[i].y, to.y, d[i][1]) ||
        !exact_difference(from[i].z, to.z, d[i][2]))
      return false;
    for (double v : d[i]) greatest = std::max(greatest, std::fabs(v));
  }
  if (!(greatest > 0)) return false;
  const double scale = whole_scale(greatest);
  for (int i = 0; i < 3; ++i)
    for (int k = 0; k < 3; ++k)
      if (!whole(d[i][k], scale, out[i][k])) return false;
  return true;
}

/// a - b where that is exact and a float32, so that the product of two of them is exact as well.
bool short_difference(double a, double b, double& out) {
  return exact_difference(a, b, out) && static_cast<double>(static_cast<float>(out)) == out;
}

int orient_expansion(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d) {
  // The 4 x 4 determinant of (p, 1), all 24 products.
  Expansion sum;
  const auto add_3x3 = [&sum](const Vec3& p, const Vec3& q, const Vec3& r, double sign) {
    sum.add_product(sign * p.x, q.y, r.z);
    sum.add_product(sign * p.y, q.z, r.x);
    sum.add_product(sign * p.z, q.x, r.y);
    sum.add_product(-sign * p.z, q.y, r.x);
    sum.add_product(-sign * p.y, q.x, r.z);
    sum.add_product(-sign * p.x, q.z, r.y);
  };
  add_3x3(a, b, c, 1);
  add_3x3(b, c, d, -1);
  add_3x3(c, d, a, 1);
  add_3x3(d, a, b, -1);
  return sum.sign();
}

}  // namespace

int orient(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d) {
  const Vec3 p = a - d, q = b - d, r = c - d;
  const double qxry = q.x * r.y, rxqy = r.x * q.y, rxpy = r.x * p.y, pxry = p.x * r.y, pxqy = p.x * q.y,
               qxpy = q.x * p.y;
  const double det = p.z * (qxry - rxqy) + q.z * (rxpy - pxry) + r.z * (pxqy - qxpy);
  const double permanent = (std::fabs(qxry) + std::fabs(rxqy)) * std::fabs(p.z) +
                           (std::fabs(rxpy) + std::fabs(pxry)) * std::fabs(q.z) +
                           (std::fabs(pxqy) + std::fabs(qxpy)) * std::fabs(r.z);
  if (std::fabs(det) > orient_bound * permanent) return sign_of(det);
  if (permanent == 0) return 0;  // no product was rounded to nothing: float32 differences are far from underflow
  std::int64_t w[3][3];
  if (whole_differences({a, b, c}, d, w)) {
    const auto minor = [&](int i, int j) {
      return static_cast<__int128>(w[i][0]) * w[j][1] - static_cast<__int128>(w[j][0]) * w[i][1];
    };
    const __int128 exact = w[0][2] * minor(1, 2) + w[1][2] * minor(2, 0) + w[2][2] * minor(0, 1);
    return (exact > 0) - (exact < 0);
  }
  return orient_expansion(a, b, c, d);
}

int orient_plane(const Vec3& a, const Vec3& b, const Vec3& c, int drop) {
  const Vec2 u = seen_along(a, drop), v = seen_along(b, drop), w = seen_along(c, drop);
  const double left = (u.x - w.x) * (v.y - w.y), right = (u.y - w.y) * (v.x - w.x);
  const double det = left - right;
  if (std::fabs(det) > plane_bound * (std::fabs(left) + std::fabs(right))) return sign_of(det);
  if ((u.x == w.x || v.y == w.y) && (u.y == w.y || v.x == w.x)) return 0;
  double first[2], second[2];
  if (short_difference(u.x, w.x, first[0]) && short_difference(v.y, w.y, first[1]) &&
      short_difference(u.y, w.y, second[0]) && short_difference(v.x, w.x, second[1])) {
    const double one = first[0] * first[1], other = second[0] * second[1];
    return (one > other) - (one < other);
  }
  std::int64_t m[3][3];
  if (whole_differences({{u.x, u.y, 0}, {v.x, v.y, 0}, {w.x, w.y, 0}}, {w.x, w.y, 0}, m)) {
    const __int128 exact = static_cast<__int128>(m[0][0]) * m[1][1] - static_cast<__int128>(m[0][1]) * m[1][0];
    return (exact > 0) - (exact < 0);
  }
  Expansion sum;
  const auto add = [&sum](double p, double q, double sign) { sum.add_product(p, q, sign); };
  add(u.x, v.y, 1);
  add(u.x, w.y, -1);
  add(w.x, v.y, -1);
  add(u.y, v.x, -1);
  add(u.y, w.x, 1);
  add(w.y, v.x, 1);
  return sum.sign();
}

}  // namespace bedwright
