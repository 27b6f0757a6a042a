// What is seen and what is hidden, on solids whose lines have a closed form; outlines against the solid's own
// silhouette, found by filling triangles.
#include "drawing/hidden_lines.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "base/trig.h"
#include "solid/build.h"
#include "solid/sketch.h"

using namespace sketch;

namespace {

double length_of(const std::vector<ViewLine>& lines, bool visible) {
  double sum = 0;
  for (const ViewLine& line : lines) {
    if (line.visible != visible) continue;
    for (std::size_t i = 0; i + 1 < line.points.size(); ++i) sum += length(line.points[i + 1] - line.points[i]);
    if (line.closed) sum += length(line.points.back() - line.points.front());
  }
  return sum;
}

// A circle's facets stray by 0.01 mm: its polygon differs in length by less than 2 pi times that.
constexpr double round_mm = 2 * pi * 0.01;
// Straight lines lie on the lattice.
constexpr double straight_mm = 1e-3;

Mesh box_with_blind_hole() {
  return build_solid(part({add("outline", rectangle(0, 0, 40, 30), 0, 10), down_to("hole", hole(5, 2, 10), 4)}));
}

/// Pixels that nothing encloses: reached from the border without crossing a marked one.
std::vector<char> outside_of(const std::vector<char>& marked, int side) {
  std::vector<char> outside(marked.size(), 0);
  std::vector<int> next = {0};
  outside[0] = 1;
  while (!next.empty()) {
    const int i = next.back(), x = i % side, y = i / side;
    next.pop_back();
    for (const auto& [dx, dy] : {std::pair{1, 0}, {-1, 0}, {0, 1}, {0, -1}}) {
      const int u = x + dx, v = y + dy;
      if (u < 0 || v < 0 || u >= side || v >= side) continue;
      const auto k = static_cast<std::size_t>(v * side + u);
      if (outside[k] || marked[k]) continue;
      outside[k] = 1;
      next.push_back(static_cast<int>(k));
    }
  }
  return outside;
}

struct Areas {
  double lines = 0, facets = 0;  ///< mm2 enclosed
  double slack = 0;              ///< what a pixel's width along the outline may do
};

/// The same area twice: what the visible lines enclose, and what the facets cover, holes filled in both.
Areas areas_of(const Mesh& solid, const ViewAxes& axes) {
  constexpr int side = 1200;
  Vec2 low{1e9, 1e9}, high{-1e9, -1e9};
  for (const Vec3 p : solid.vertices) {
    const Vec3 q = in_view(axes, p);
    low = {std::min(low.x, q.x), std::min(low.y, q.y)};
    high = {std::max(high.x, q.x), std::max(high.y, q.y)};
  }
  const double pixel = std::max(high.x - low.x, high.y - low.y) / (side - 20);
  const auto at = [&](Vec2 p) { return Vec2{(p.x - low.x) / pixel + 10, (p.y - low.y) / pixel + 10}; };
  std::vector<char> drawn(side * side, 0), covered(side * side, 0);
  double outline = 0;
  const auto stroke = [&](Vec2 a, Vec2 b) {
    outline += length(b - a) * pixel;
    const int steps = static_cast<int>(length(b - a) * 3) + 1;
    for (int i = 0; i <= steps; ++i) {
      const Vec2 p = a + (double(i) / steps) * (b - a);
      drawn[static_cast<std::size_t>(static_cast<int>(p.y) * side + static_cast<int>(p.x))] = 1;
    }
  };
  for (const ViewLine& line : view_lines(solid, axes)) {
    if (!line.visible) continue;
    for (std::size_t i = 0; i + 1 < line.points.size(); ++i) stroke(at(line.points[i]), at(line.points[i + 1]));
    if (line.closed) stroke(at(line.points.back()), at(line.points.front()));
  }
  for (const auto& t : solid.triangles) {
    Vec2 p[3];
    for (int k = 0; k < 3; ++k) {
      const Vec3 q = in_view(axes, solid.vertices[t[static_cast<std::size_t>(k)]]);
      p[k] = at({q.x, q.y});
    }
    const double twice = cross(p[1] - p[0], p[2] - p[0]);
    if (twice == 0) continue;
    const int y0 = static_cast<int>(std::min({p[0].y, p[1].y, p[2].y})),
              y1 = static_cast<int>(std::max({p[0].y, p[1].y, p[2].y}));
    const int x0 = static_cast<int>(std::min({p[0].x, p[1].x, p[2].x})),
              x1 = static_cast<int>(std::max({p[0].x, p[1].x, p[2].x}));
    for (int y = y0; y <= y1; ++y)
      for (int x = x0; x <= x1; ++x) {
        const Vec2 m{x + 0.5, y + 0.5};
        bool in = true;
        for (int k = 0; k < 3; ++k) in = in && cross(p[(k + 1) % 3] - p[k], m - p[k]) * (twice > 0 ? 1 : -1) >= 0;
        if (in) covered[static_cast<std::size_t>(y * side + x)] = 1;
      }
  }
  Areas areas;
  const std::vector<char> a = outside_of(drawn, side), b = outside_of(covered, side);
  for (std::size_t i = 0; i < a.size(); ++i) {
    areas.lines += a[i] ? 0 : pixel * pixel;
    areas.facets += b[i] ? 0 : pixel * pixel;
  }
  areas.slack = outline * pixel * 1.5;
  return areas;
}

}  // namespace

TEST_CASE("hidden lines: a box with a blind hole shows the hole from above and hides it from the side", "[drawing]") {
  const Mesh solid = box_with_blind_hole();
  const auto above = view_lines(solid, from_above), front = view_lines(solid, from_front),
             left = view_lines(solid, from_left);
  CHECK(length_of(above, true) == Approx(140 + 10 * pi).margin(round_mm));
  CHECK(length_of(above, false) == Approx(0).margin(straight_mm));
  for (const auto& lines : {front, left}) {
    // Two walls 6 mm deep and a floor 10 mm wide.
    CHECK(length_of(lines, false) == Approx(22).margin(0.05));
  }
  CHECK(length_of(front, true) == Approx(100).margin(straight_mm));
  CHECK(length_of(left, true) == Approx(80).margin(straight_mm));
}

TEST_CASE("hidden lines: from below, a hole that does not reach there is all hidden", "[drawing]") {
  const ViewAxes from_below{{1, 0, 0}, {0, -1, 0}, {0, 0, -1}};
  const auto below = view_lines(box_with_blind_hole(), from_below);
  CHECK(length_of(below, true) == Approx(140).margin(straight_mm));
  // Rim and floor have the same circle: one line.
  CHECK(length_of(below, false) == Approx(10 * pi).margin(round_mm));
}

TEST_CASE("hidden lines: a plate hides the boss under it from above, not from the front", "[drawing]") {
  const Mesh solid =
      build_solid(part({add("outline", rectangle(0, 0, 40, 30), 0, 5), add("boss", disc(-8, 3, 10), -4, 0)}));
  const auto above = view_lines(solid, from_above), front = view_lines(solid, from_front);
  CHECK(length_of(above, true) == Approx(140).margin(straight_mm));
  CHECK(length_of(above, false) == Approx(10 * pi).margin(round_mm));
  CHECK(length_of(front, true) == Approx(90 + 8 + 10).margin(0.05));
  CHECK(length_of(front, false) == Approx(0).margin(straight_mm));
}

TEST_CASE("hidden lines: facets of a dome and of rounds are not drawn", "[drawing]") {
  Part domed = part({add_to_seat("outline", rectangle(0, 0, 60, 40, 6), 0)});
  domed.seat = sphere(500, {90, 40}, 30);
  const auto above = view_lines(build_solid(domed), from_above);
  CHECK(length_of(above, true) == Approx(2 * (48 + 28) + 12 * pi).margin(round_mm));
  CHECK(length_of(above, false) == Approx(0).margin(straight_mm));
}

TEST_CASE("hidden lines: what the outer lines enclose is what the facets cover", "[drawing]") {
  const Mesh box = build_solid(part(
      {add("outline", rectangle(0, 0, 40, 30), 0, 10), through("a", hole(5, 2, 10)), through("b", hole(-12, -4, 5))}));
  Part plate = part({add_to_seat("outline", rectangle(0, 0, 60, 40, 6), 0), add("boss", disc(-20, 10, 10), -4, 0),
                     down_to("bore", hole(15, 5, 7), 3), through("hole", hole(15, 5, 3.4))});
  plate.seat = sphere(600, {80, 50}, 30);
  for (const Mesh& solid : {box, build_solid(plate)})
    for (const ViewAxes& axes : {from_above, from_front, from_left, from_right}) {
      const Areas a = areas_of(solid, axes);
      CHECK(a.lines == Approx(a.facets).margin(a.slack));
    }
  // Closed form: the holes are inside.
  const Areas a = areas_of(box, from_above);
  CHECK(a.facets == Approx(40 * 30).margin(a.slack));
  // The test can fail: a solid half as deep has another front view.
  const Mesh lower = build_solid(part({add("outline", rectangle(0, 0, 40, 30), 0, 5)}));
  CHECK(areas_of(box, from_front).facets > areas_of(lower, from_front).lines * 1.5);
}

TEST_CASE("sections: a cut through holes has the area of the solid there", "[drawing]") {
  const Mesh solid = box_with_blind_hole();
  // Through the hole's axis: 40 x 10 without 10 x 6.
  const SectionView view = section_view(solid, {{-21, 21, 2}}, 0.05);
  double hatched = 0;
  for (const auto& h : view.hatch) hatched += length(h[1] - h[0]) * 0.05;
  CHECK(hatched == Approx(340).epsilon(0.01));
  double cut = 0;
  for (const auto& c : view.cut) cut += length(c[1] - c[0]);
  CHECK(cut == Approx(2 * (40 + 10) + 2 * 6).margin(0.05));
  // Beside the hole the whole rectangle; stepped, half of each.
  const auto sum = [&](const std::vector<CutStep>& steps) {
    double area = 0;
    for (const auto& h : section_view(solid, steps, 0.05).hatch) area += length(h[1] - h[0]) * 0.05;
    return area;
  };
  CHECK(sum({{-21, 21, -10}}) == Approx(400).epsilon(0.01));
  CHECK(sum({{-21, 5, 2}, {5, 21, -10}}) == Approx(400 - 30).epsilon(0.01));
}

TEST_CASE("sections: behind the cut the far half of a hole's rim is seen, the near half is not", "[drawing]") {
  const SectionView view = section_view(box_with_blind_hole(), {{-21, 21, 2}}, 2);
  // Seen edge on: rim at z = 10 over 10 mm, floor at z = 4 over 10 mm; and the outline's rear edges.
  double floor = 0;
  for (const ViewLine& line : view.beyond)
    for (std::size_t i = 0; i + 1 < line.points.size(); ++i)
      if (std::fabs(line.points[i].y - 4) < 1e-6 && std::fabs(line.points[i + 1].y - 4) < 1e-6)
        floor += std::fabs(line.points[i + 1].x - line.points[i].x);
  CHECK(floor == Approx(10).margin(0.05));
}
