// A cap covers its region once: facets turn left, their area is the region's by the polygon formula, edges of the
// border are used once and all others twice, in both directions.
#include "solid/cap.h"

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <map>
#include <random>

#include "base/lattice.h"
#include "base/trig.h"

using namespace bedwright;

namespace {

using Ring = std::vector<Vec2>;

double polygon_area(const Ring& ring) {
  double twice = 0;
  for (std::size_t i = 0; i < ring.size(); ++i) twice += cross(ring[i], ring[(i + 1) % ring.size()]);
  return twice / 2;
}

/// The first ring is the outer one, all of them counter-clockwise.
void check_cap(const std::vector<Ring>& rings) {
  std::vector<Vec2> points;
  CapBoundary boundary;
  double area = 0;
  std::map<std::pair<std::uint32_t, std::uint32_t>, int> uses;
  for (const Ring& ring : rings) {
    boundary.rings.emplace_back();
    const auto first = static_cast<std::uint32_t>(points.size()), n = static_cast<std::uint32_t>(ring.size());
    for (std::uint32_t i = 0; i < n; ++i) {
      points.push_back(ring[i]);
      boundary.rings.back().push_back(first + i);
      const std::uint32_t a = first + i, b = first + (i + 1) % n;
      // Used from the other side by what the border has there.
      ++uses[first == 0 ? std::make_pair(b, a) : std::make_pair(a, b)];
    }
    area += (first == 0 ? 1 : -1) * polygon_area(ring);
  }
  const CapTriangles cap = triangulate_cap(points, boundary, 0, 0);
  CHECK(cap.added.empty());
  // Euler, for a region with holes: F = V + 2 (holes - 1).
  CHECK(cap.triangles.size() == points.size() + 2 * (rings.size() - 1) - 2);
  double sum = 0;
  for (const auto& t : cap.triangles) {
    const double twice = cross(points[t[1]] - points[t[0]], points[t[2]] - points[t[0]]);
    CHECK(twice > 0);
    sum += twice / 2;
    for (std::size_t k = 0; k < 3; ++k) ++uses[{t[k], t[(k + 1) % 3]}];
  }
  CHECK(sum == Approx(area).epsilon(1e-12));
  for (const auto& [edge, n] : uses) {
    CAPTURE(edge.first, edge.second);
    CHECK(n == 1);
    CHECK(uses.count({edge.second, edge.first}) == 1);
  }
}

Ring ring_of(std::size_t n, Vec2 centre, double phase, const std::function<double(std::size_t)>& radius) {
  Ring ring;
  for (std::size_t i = 0; i < n; ++i) {
    const double angle = phase + 2 * pi * static_cast<double>(i) / static_cast<double>(n);
    ring.push_back(snap(centre + radius(i) * Vec2{cos_rad(angle), sin_rad(angle)}));
  }
  return ring;
}

}  // namespace

TEST_CASE("cap: a ring round another is covered once, whatever their corners", "[cap]") {
  std::mt19937 random(20);
  const auto between = [&](double low, double high) { return low + (high - low) * (random() / 4294967296.0); };
  for (int k = 0; k < 300; ++k) {
    CAPTURE(k);
    // No outer edge comes nearer than 20 cos(pi / 8) = 18.4 to the middle, no inner corner goes farther than 18.
    const std::size_t n = 8 + random() % 50, m = 3 + random() % 60;
    const bool stars = k % 2 == 0;
    const double inner = between(1, 17.9);
    check_cap({ring_of(n, {}, between(0, 6), [&](std::size_t) { return stars ? between(20, 30) : 20; }),
               ring_of(m, {}, between(0, 6), [&](std::size_t) { return stars ? between(1, 18) : inner; })});
  }
}

TEST_CASE("cap: counterbore floors, off centre, in rectangles, too narrow for a strip", "[cap]") {
  const auto circle = [](std::size_t n, Vec2 c, double r) { return ring_of(n, c, 0, [=](std::size_t) { return r; }); };
  check_cap({circle(48, {}, 3.25), circle(32, {}, 1.7)});
  check_cap({circle(48, {}, 3.25), circle(32, {1.2, 0.2}, 1.7)});
  check_cap({circle(48, {}, 3.25), circle(48, {}, 3.22)});
  check_cap({{{-20, -10}, {20, -10}, {20, 10}, {-20, 10}}, circle(40, {5, 2}, 4)});
  check_cap({{{-20, -10}, {20, -10}, {20, 10}, {-20, 10}}, circle(40, {-15.98, 2}, 4)});
  check_cap({{{-20, -10}, {20, -10}, {20, 10}, {-20, 10}}, circle(40, {-8, 2}, 4), circle(7, {8, 2}, 4)});
}

TEST_CASE("cap: no inner edge could be turned for a better one, by another library's exact test", "[cap]") {
  // Many corners lie on one circle exactly; at a metre's size the steps are coarser and their squares largest.
  using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
  std::mt19937 random(7);
  for (const double size_mm : {20.0, 250.0, 1000.0}) {
    const Lattice lattice = lattice_for(size_mm);
    std::vector<Vec2> points;
    CapBoundary boundary;
    const auto add = [&](const Ring& ring) {
      boundary.rings.emplace_back();
      for (const Vec2 p : ring) {
        boundary.rings.back().push_back(static_cast<std::uint32_t>(points.size()));
        points.push_back(snap(p, lattice));
      }
    };
    add({{-size_mm, -size_mm}, {size_mm, -size_mm}, {size_mm, size_mm}, {-size_mm, size_mm}});
    for (int i = -3; i <= 3; ++i)
      for (int k = -3; k <= 3; ++k) {
        const double shake = (i + k) % 2 ? 0 : 0.02 * size_mm * (random() / 4294967296.0);
        add(ring_of(8, {(0.25 * i) * size_mm + shake, 0.25 * k * size_mm}, pi / 8,
                    [&](std::size_t) { return 0.06 * size_mm; }));
      }
    std::map<std::pair<std::uint32_t, std::uint32_t>, std::uint32_t> across;  // directed edge to the corner on its left
    for (const auto& t : triangulate_cap(points, boundary, 0, 0).triangles)
      for (std::size_t k = 0; k < 3; ++k) across[{t[k], t[(k + 1) % 3]}] = t[(k + 2) % 3];
    const auto at = [&](std::uint32_t id) { return Kernel::Point_2(points[id].x, points[id].y); };
    int inner = 0, even = 0, turnable = 0;
    for (const auto& [edge, left] : across) {
      const auto other = across.find({edge.second, edge.first});
      if (other == across.end()) continue;
      ++inner;
      const auto side = CGAL::side_of_oriented_circle(at(edge.first), at(edge.second), at(left), at(other->second));
      turnable += side == CGAL::ON_POSITIVE_SIDE;
      even += side == CGAL::ON_ORIENTED_BOUNDARY;
    }
    CAPTURE(size_mm);
    CHECK(inner > 500);
    CHECK(even > 50);
    CHECK(turnable == 0);
  }
}
