// The distances themselves, for plain numbers and for numbers that carry derivatives. Private to the survey.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>

#include "base/vec.h"

namespace bedwright {

/// A value with its derivatives by P unknowns (forward differentiation).
template <std::size_t P>
struct Dual {
  double v = 0;
  std::array<double, P> d{};
  Dual() = default;
  explicit Dual(double value) : v(value) {}
  static Dual unknown(double value, std::size_t k) {
    Dual x(value);
    x.d[k] = 1;
    return x;
  }
};

template <std::size_t P, typename Op>
Dual<P> combined(double v, const Dual<P>& a, const Dual<P>& b, Op op) {
  Dual<P> r(v);
  for (std::size_t k = 0; k < P; ++k) r.d[k] = op(a.d[k], b.d[k]);
  return r;
}
template <std::size_t P>
Dual<P> operator+(const Dual<P>& a, const Dual<P>& b) {
  return combined(a.v + b.v, a, b, [](double x, double y) { return x + y; });
}
template <std::size_t P>
Dual<P> operator-(const Dual<P>& a, const Dual<P>& b) {
  return combined(a.v - b.v, a, b, [](double x, double y) { return x - y; });
}
template <std::size_t P>
Dual<P> operator*(const Dual<P>& a, const Dual<P>& b) {
  return combined(a.v * b.v, a, b, [&](double x, double y) { return x * b.v + a.v * y; });
}
template <std::size_t P>
Dual<P> operator/(const Dual<P>& a, const Dual<P>& b) {
  const double q = a.v / b.v;
  return combined(q, a, b, [&](double x, double y) { return (x - q * y) / b.v; });
}
template <std::size_t P>
Dual<P> root(const Dual<P>& a) {
  const double r = std::sqrt(a.v);
  return combined(r, a, a, [r](double x, double) { return x / (2 * r); });
}
inline double root(double a) {
  return std::sqrt(a);
}

/// |q - centre| - 1/k of a round body that touches the plane w = 0 at its top, for a point with squared distance
/// `square` from the touching point and height w over the plane: positive outside for k > 0, above for either sign.
template <typename T>
T off_round(const T& square, const T& w, const T& k) {
  const T double_power = k * square + T(2) * w;
  return double_power / (T(1) + root(T(1) + k * double_power));
}

template <typename T>
struct Lean {
  T x, y, z;  ///< unit normal
};
template <typename T>
Lean<T> normal_of(const T& lean_x, const T& lean_y) {
  const T size = root(T(1) + lean_x * lean_x + lean_y * lean_y);
  return {lean_x / size, lean_y / size, T(1) / size};
}

template <typename T>
T plane_distance(const T& offset, const T& lean_x, const T& lean_y, Vec3 q) {
  const Lean<T> n = normal_of(lean_x, lean_y);
  return n.x * T(q.x) + n.y * T(q.y) + n.z * T(q.z) - offset;
}

template <typename T>
T sphere_distance(const T& offset, const Lean<T>& n, const T& k, Vec3 q) {
  const T x = T(q.x) - offset * n.x, y = T(q.y) - offset * n.y, z = T(q.z) - offset * n.z;
  return off_round<T>(x * x + y * y + z * z, x * n.x + y * n.y + z * n.z, k);
}

template <typename T>
T sphere_distance(const T& offset, const T& lean_x, const T& lean_y, const T& k, Vec3 q) {
  return sphere_distance(offset, normal_of(lean_x, lean_y), k, q);
}

/// (turn_x, turn_y): the straight direction in plan; it is laid into the plane of the lean and made unit here.
template <typename T>
T cylinder_distance(const T& offset, const T& lean_x, const T& lean_y, const T& k, const T& turn_x, const T& turn_y,
                    Vec3 q) {
  const Lean<T> n = normal_of(lean_x, lean_y);
  const T x = T(q.x) - offset * n.x, y = T(q.y) - offset * n.y, z = T(q.z) - offset * n.z;
  const T rise = T(0) - (turn_x * lean_x + turn_y * lean_y);
  const T size = root(turn_x * turn_x + turn_y * turn_y + rise * rise);
  const T along = (x * turn_x + y * turn_y + z * rise) / size;
  return off_round<T>(x * x + y * y + z * z - along * along, x * n.x + y * n.y + z * n.z, k);
}

/// The torus of the kit's two_radius: curvature kx along X, ky along Y, apex at (x0, y0, z0), normal +Z there.
template <typename T>
T torus_distance(const T& x0, const T& y0, const T& z0, const T& kx, const T& ky, Vec3 q) {
  const T x = T(q.x) - x0, y = T(q.y) - y0, z = T(q.z) - z0;
  const T out = off_round<T>(x * x + z * z, z, kx);
  return off_round<T>(out * out + y * y, out, ky);
}

}  // namespace bedwright
