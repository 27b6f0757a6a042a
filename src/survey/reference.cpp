#include "survey/reference.h"

#include <cmath>

#include "base/error.h"
#include "base/trig.h"
#include "survey/robust_start.h"

namespace bedwright {
namespace {

constexpr std::size_t most_levelling_points = 20000;

Transform of_rows(Vec3 x, Vec3 y, Vec3 z, Vec3 origin) {
  Transform t;
  t.m = {x.x, x.y, x.z, -dot(x, origin), y.x, y.y, y.z, -dot(y, origin), z.x, z.y, z.z, -dot(z, origin), 0, 0, 0, 1};
  return t;
}

/// The least turn that brings unit n to +Z.
Transform upright(Vec3 n) {
  if (n.z < -0.999999) return quarter_turn(0, 2);
  const double c = n.z, k = 1 / (1 + c);
  return of_rows({1 - k * n.x * n.x, -k * n.x * n.y, -n.x}, {-k * n.x * n.y, 1 - k * n.y * n.y, -n.y}, {n.x, n.y, c},
                 {});
}

void turn_all(std::vector<Vec3>& points, const Transform& t) {
  for (Vec3& p : points) p = apply(t, p);
}

}  // namespace

Transform reference_from(Vec3 origin, Vec3 on_x, Vec3 on_plane) {
  const Vec3 u = on_x - origin, v = on_plane - origin, w = cross(u, v);
  if (!(length(w) > 0.01 * length(u) * length(v)))
    throw BadInput("reference features", {{"--origin, --on-x, --on-plane", "", "the three points lie on one line",
                                           "choose three that span the sheet"}});
  const Vec3 x = (1 / length(u)) * u, z = (1 / length(w)) * w;
  return of_rows(x, cross(z, x), z, origin);
}

double level(std::vector<Vec3>& points, const SurveyOptions& options, const std::string& source) {
  if (points.size() < 5) return 0;  // survey_points says what is missing
  std::vector<Vec3> some = sampled(points, most_levelling_points);
  Transform total = upright(main_normal(sampled(points, 1000)));
  turn_all(some, total);
  for (int pass = 0; pass < 3; ++pass) {
    const Survey s = survey_points(some, options, source);
    const Vec2 middle = options.pattern_half ? Vec2{} : Vec2{(s.low.x + s.high.x) / 2, (s.low.y + s.high.y) / 2};
    const Vec2 half =
        options.pattern_half ? *options.pattern_half : Vec2{(s.high.x - s.low.x) / 2, (s.high.y - s.low.y) / 2};
    const auto z = [&](int i, int j) { return height_of(s.model, middle.x + i * half.x, middle.y + j * half.y); };
    const double pp = z(1, 1), pm = z(1, -1), mp = z(-1, 1), mm = z(-1, -1);
    const Vec3 n{-(pp + pm - mp - mm) / (4 * half.x), -(pp + mp - pm - mm) / (4 * half.y), 1};
    const Transform t = upright((1 / length(n)) * n);
    turn_all(some, t);
    total = compose(t, total);
    if (length(Vec2{n.x, n.y}) < 1e-9) break;
  }
  turn_all(points, total);
  return acos_rad(total.m[10]) / rad_per_deg;
}

}  // namespace bedwright
