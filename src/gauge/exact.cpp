#include "gauge/exact.h"

#include <cmath>
#include <cstdint>
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

/// Whole numbers of 2^-20 below 2^18: differences stay below 2^39, and a 3 x 3 determinant below 2^120.
bool whole(double v, std::int64_t& out) {
  const double scaled = v * 1048576.0;
  if (!(std::fabs(v) < 262144.0) || scaled != std::floor(scaled)) return false;
  out = static_cast<std::int64_t>(scaled);
  return true;
}

bool whole(const Vec3& p, std::int64_t (&out)[3]) {
  return whole(p.x, out[0]) && whole(p.y, out[1]) && whole(p.z, out[2]);
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
  std::int64_t ia[3], ib[3], ic[3], id[3];
  if (whole(a, ia) && whole(b, ib) && whole(c, ic) && whole(d, id)) {
    __int128 m[3][3];
    for (int i = 0; i < 3; ++i) {
      m[0][i] = ia[i] - id[i];
      m[1][i] = ib[i] - id[i];
      m[2][i] = ic[i] - id[i];
    }
    const __int128 exact = m[0][2] * (m[1][0] * m[2][1] - m[2][0] * m[1][1]) +
                           m[1][2] * (m[2][0] * m[0][1] - m[0][0] * m[2][1]) +
                           m[2][2] * (m[0][0] * m[1][1] - m[1][0] * m[0][1]);
    return (exact > 0) - (exact < 0);
  }
  return orient_expansion(a, b, c, d);
}

int orient_plane(const Vec3& a, const Vec3& b, const Vec3& c, int drop) {
  const auto pick = [drop](const Vec3& p) {
    return drop == 0 ? Vec2{p.y, p.z} : drop == 1 ? Vec2{p.z, p.x} : Vec2{p.x, p.y};
  };
  const Vec2 u = pick(a), v = pick(b), w = pick(c);
  const double left = (u.x - w.x) * (v.y - w.y), right = (u.y - w.y) * (v.x - w.x);
  const double det = left - right;
  if (std::fabs(det) > plane_bound * (std::fabs(left) + std::fabs(right))) return sign_of(det);
  if ((u.x == w.x || v.y == w.y) && (u.y == w.y || v.x == w.x)) return 0;
  std::int64_t iu[2], iv[2], iw[2];
  if (whole(u.x, iu[0]) && whole(u.y, iu[1]) && whole(v.x, iv[0]) && whole(v.y, iv[1]) && whole(w.x, iw[0]) &&
      whole(w.y, iw[1])) {
    const __int128 exact =
        static_cast<__int128>(iu[0] - iw[0]) * (iv[1] - iw[1]) - static_cast<__int128>(iu[1] - iw[1]) * (iv[0] - iw[0]);
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
