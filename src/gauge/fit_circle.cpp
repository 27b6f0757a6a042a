#include "gauge/fit_circle.h"

#include <algorithm>
#include <cmath>

#include "base/trig.h"
#include "gauge/least_squares.h"

namespace bedwright {
namespace {

/// Least value of a convex function of the plane by steps in 16 directions that halve when none helps.
template <typename Value>
Vec2 lowest(Value value, Vec2 at, double step) {
  Vec2 directions[16];
  for (int i = 0; i < 16; ++i) directions[i] = {cos_rad(i * pi / 8), sin_rad(i * pi / 8)};
  double here = value(at);
  while (step > 1e-9) {
    Vec2 best = at;
    double least = here;
    for (const Vec2& d : directions) {
      const double v = value(at + step * d);
      if (v < least) {
        least = v;
        best = at + step * d;
      }
    }
    if (least < here) {
      at = best;
      here = least;
    } else {
      step /= 2;
    }
  }
  return at;
}

}  // namespace

std::optional<Circle> circle_through(Vec2 a, Vec2 b, Vec2 c) {
  const Vec2 u = b - a, v = c - a;
  const double twice = 2 * cross(u, v), uu = dot(u, u), vv = dot(v, v);
  if (std::fabs(twice) <= 1e-14 * (uu + vv)) return std::nullopt;
  const Vec2 offset{(v.y * uu - u.y * vv) / twice, (u.x * vv - v.x * uu) / twice};
  return Circle{a + offset, length(offset)};
}

std::optional<Circle> fitted_circle(const std::vector<Vec2>& points) {
  if (points.size() < 3) return std::nullopt;
  Vec2 mean{};
  for (Vec2 p : points) mean = mean + p;
  mean = (1.0 / static_cast<double>(points.size())) * mean;
  Eigen::MatrixXd a(points.size(), 3);
  Eigen::VectorXd b(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Vec2 q = points[i] - mean;
    const auto row = static_cast<Eigen::Index>(i);
    a(row, 0) = 2 * q.x;
    a(row, 1) = 2 * q.y;
    a(row, 2) = 1;
    b(row) = dot(q, q);
  }
  const std::optional<Eigen::VectorXd> solution = linear_solution(a, b);
  if (!solution) return std::nullopt;
  const Eigen::VectorXd& x = *solution;
  const double r2 = x(2) + x(0) * x(0) + x(1) * x(1);
  if (!(r2 > 0)) return std::nullopt;
  return Circle{mean + Vec2{x(0), x(1)}, std::sqrt(r2)};
}

Circle largest_pin(const std::vector<WallLine>& lines, Vec2 start) {
  const auto deepest = [&lines](Vec2 c) {
    double least = 1e300;
    for (const WallLine& l : lines) least = std::min(least, dot(l.normal, c) - l.offset);
    return -least;
  };
  const Vec2 centre = lowest(deepest, start, 0.01);
  return {centre, -deepest(centre)};
}

Circle smallest_ring(const std::vector<Vec2>& points, Vec2 start) {
  const auto farthest = [&points](Vec2 c) {
    double most = 0;
    for (Vec2 p : points) most = std::max(most, dot(p - c, p - c));
    return std::sqrt(most);
  };
  const Vec2 centre = lowest(farthest, start, 0.01);
  return {centre, farthest(centre)};
}

}  // namespace bedwright
