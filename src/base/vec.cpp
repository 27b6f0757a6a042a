#include "base/vec.h"

#include "base/trig.h"

namespace bedwright {

Transform compose(const Transform& a, const Transform& b) {
  Transform r;
  for (int i = 0; i < 4; ++i)
    for (int j = 0; j < 4; ++j) {
      double sum = 0;
      for (int k = 0; k < 4; ++k) sum += a.m[4 * i + k] * b.m[4 * k + j];
      r.m[4 * i + j] = sum;
    }
  return r;
}

Transform inverse(const Transform& t) {
  Transform r;
  for (int i = 0; i < 3; ++i)
    for (int j = 0; j < 3; ++j) r.m[4 * i + j] = t.m[4 * j + i];
  const Vec3 back = turn(r, {t.m[3], t.m[7], t.m[11]});
  r.m[3] = -back.x;
  r.m[7] = -back.y;
  r.m[11] = -back.z;
  return r;
}

Transform shift(Vec3 by) {
  Transform r;
  r.m[3] = by.x;
  r.m[7] = by.y;
  r.m[11] = by.z;
  return r;
}

Transform quarter_turn(int axis, int quarter) {
  const int q = ((quarter % 4) + 4) % 4;
  static constexpr int cosine[4] = {1, 0, -1, 0}, sine[4] = {0, 1, 0, -1};
  const int i = (axis + 1) % 3, j = (axis + 2) % 3;
  Transform r;
  r.m[4 * i + i] = cosine[q];
  r.m[4 * i + j] = -sine[q];
  r.m[4 * j + i] = sine[q];
  r.m[4 * j + j] = cosine[q];
  return r;
}

Transform turn_about_z(double angle_rad) {
  const double c = cos_rad(angle_rad), s = sin_rad(angle_rad);
  Transform r;
  r.m[0] = c;
  r.m[1] = -s;
  r.m[4] = s;
  r.m[5] = c;
  return r;
}

double determinant(const Transform& t) {
  const auto& m = t.m;
  return m[0] * (m[5] * m[10] - m[6] * m[9]) - m[1] * (m[4] * m[10] - m[6] * m[8]) +
         m[2] * (m[4] * m[9] - m[5] * m[8]);
}

}  // namespace bedwright
