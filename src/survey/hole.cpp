#include "survey/hole.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "base/trig.h"
#include "survey/geometric_fit.h"

namespace bedwright {
namespace {

constexpr int directions = 48, fewest_directions = 24;
constexpr double least_radius_mm = 0.5, most_off_mm = 0.3;

/// Nearest point to the centre in each direction.
std::vector<Vec3> rim_of(const std::vector<Vec3>& around, Vec2 centre) {
  std::vector<double> least(directions, 1e300);
  std::vector<Vec3> nearest(directions);
  for (const Vec3& p : around) {
    const Vec2 d{p.x - centre.x, p.y - centre.y};
    const int k = std::min(directions - 1, static_cast<int>((atan2_rad(d.y, d.x) / (2 * pi) + 0.5) * directions));
    const double r = length(d);
    if (r >= least[static_cast<std::size_t>(k)]) continue;
    least[static_cast<std::size_t>(k)] = r;
    nearest[static_cast<std::size_t>(k)] = p;
  }
  std::vector<Vec3> rim;
  for (int k = 0; k < directions; ++k)
    if (least[static_cast<std::size_t>(k)] < hole_reach_mm) rim.push_back(nearest[static_cast<std::size_t>(k)]);
  return rim;
}

CircleFit circle_of(const std::vector<Vec3>& rim) {
  std::vector<Vec2> plan;
  for (const Vec3& p : rim) plan.push_back({p.x, p.y});
  return fit_circle(plan);
}

}  // namespace

ScanHole find_hole(const std::vector<Vec3>& points, Vec2 near, const std::string& source) {
  std::vector<Vec3> around;
  for (const Vec3& p : points)
    if (length(Vec2{p.x - near.x, p.y - near.y}) < 2 * hole_reach_mm) around.push_back(p);
  const auto refuse = [&](const std::string& what) {
    throw BadInput(source, {{"--known-holes", decimal(near.x, 3) + "," + decimal(near.y, 3),
                             "at " + decimal(near.x, 2) + ", " + decimal(near.y, 2) + ": " + what,
                             "give a point inside the hole, in the scan's own numbers"}});
  };
  Vec2 centre = near;
  std::vector<Vec3> rim;
  CircleFit circle;
  for (int pass = 0; pass < 4; ++pass) {
    rim = rim_of(around, centre);
    if (rim.size() < fewest_directions) refuse("no rim goes round this place");
    circle = circle_of(rim);
    for (int again = 0; again < 5 && circle.ok; ++again) {
      const std::size_t before = rim.size();
      std::vector<double> off;
      for (const Vec3& p : rim) {
        const Vec2 at{p.x, p.y};
        off.push_back(std::fabs(length(at - circle.centre) - circle.radius));
      }
      std::vector<double> sorted = off;
      std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
      const double limit = std::max(3 * 1.4826 * sorted[sorted.size() / 2], 1e-6);
      std::vector<Vec3> kept;
      for (std::size_t i = 0; i < rim.size(); ++i)
        if (off[i] <= limit) kept.push_back(rim[i]);
      rim = std::move(kept);
      if (rim.size() < fewest_directions / 2) refuse("no round rim goes round this place");
      circle = circle_of(rim);
      if (rim.size() == before) break;
    }
    if (!circle.ok) refuse("no round rim goes round this place");
    if (length(circle.centre - near) > hole_reach_mm) refuse("no hole holds this place");
    centre = circle.centre;
  }
  const double rms = std::sqrt(circle.residual_sum / static_cast<double>(rim.size()));
  if (circle.radius < least_radius_mm || rms > most_off_mm || length(near - circle.centre) > circle.radius)
    refuse("the scan has points here: this is no hole");
  ScanHole hole;
  hole.centre = {circle.centre.x, circle.centre.y, 0};
  for (const Vec3& p : rim) hole.centre.z += p.z / static_cast<double>(rim.size());
  hole.diameter_mm = 2 * circle.radius;
  hole.rim_points = rim.size();
  return hole;
}

}  // namespace bedwright
