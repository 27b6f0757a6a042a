// Plane and space vectors, and rigid transforms, as plain values.
// Units: millimetres unless a name says otherwise. No function here throws.
#pragma once

#include <array>
#include <cmath>

namespace bedwright {

struct Vec2 {
  double x = 0, y = 0;
};

struct Vec3 {
  double x = 0, y = 0, z = 0;
};

inline Vec2 operator+(Vec2 a, Vec2 b) { return {a.x + b.x, a.y + b.y}; }
inline Vec2 operator-(Vec2 a, Vec2 b) { return {a.x - b.x, a.y - b.y}; }
inline Vec2 operator-(Vec2 a) { return {-a.x, -a.y}; }
inline Vec2 operator*(double s, Vec2 a) { return {s * a.x, s * a.y}; }
inline bool operator==(Vec2 a, Vec2 b) { return a.x == b.x && a.y == b.y; }
inline bool operator!=(Vec2 a, Vec2 b) { return !(a == b); }
inline double dot(Vec2 a, Vec2 b) { return a.x * b.x + a.y * b.y; }
/// z component of the cross product: positive when b is to the left of a.
inline double cross(Vec2 a, Vec2 b) { return a.x * b.y - a.y * b.x; }
/// std::sqrt is exactly rounded by IEEE 754; std::hypot is not, so it would cost us equal bytes.
inline double length(Vec2 a) { return std::sqrt(dot(a, a)); }

inline Vec3 operator+(Vec3 a, Vec3 b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
inline Vec3 operator-(Vec3 a, Vec3 b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
inline Vec3 operator-(Vec3 a) { return {-a.x, -a.y, -a.z}; }
inline Vec3 operator*(double s, Vec3 a) { return {s * a.x, s * a.y, s * a.z}; }
inline bool operator==(Vec3 a, Vec3 b) { return a.x == b.x && a.y == b.y && a.z == b.z; }
inline bool operator!=(Vec3 a, Vec3 b) { return !(a == b); }
inline double dot(Vec3 a, Vec3 b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
inline Vec3 cross(Vec3 a, Vec3 b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline double length(Vec3 a) { return std::sqrt(dot(a, a)); }

/// A 4x4 matrix, row-major, acting on column vectors: p' = M p, translation in the last column.
/// Here always a rotation (or, where said, a mirror) and a shift.
struct Transform {
  std::array<double, 16> m{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1};
};

inline Vec3 apply(const Transform& t, Vec3 p) {
  const auto& m = t.m;
  return {m[0] * p.x + m[1] * p.y + m[2] * p.z + m[3],
          m[4] * p.x + m[5] * p.y + m[6] * p.z + m[7],
          m[8] * p.x + m[9] * p.y + m[10] * p.z + m[11]};
}

/// Turns a direction: the shift is left out.
inline Vec3 turn(const Transform& t, Vec3 d) {
  const auto& m = t.m;
  return {m[0] * d.x + m[1] * d.y + m[2] * d.z, m[4] * d.x + m[5] * d.y + m[6] * d.z,
          m[8] * d.x + m[9] * d.y + m[10] * d.z};
}

/// First b, then a.
Transform compose(const Transform& a, const Transform& b);
/// Inverse of a rotation or mirror with a shift (the 3x3 part must be orthogonal).
Transform inverse(const Transform& t);
Transform shift(Vec3 by);
/// Exact turn by quarter * 90 degrees about +X, +Y or +Z (axis 0, 1, 2), right-handed.
Transform quarter_turn(int axis, int quarter);
/// Right-handed turn about +Z by an angle, radians, with our own sine and cosine.
Transform turn_about_z(double angle_rad);
/// +1 for a rotation, -1 for a mirror.
double determinant(const Transform& t);

}  // namespace bedwright
