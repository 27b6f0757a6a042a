#include "solid/build.h"

#include <catch2/catch.hpp>
#include <algorithm>
#include <cmath>
#include <random>

#include "base/error.h"
#include "base/lattice.h"
#include "base/trig.h"
#include "sketch.h"
#include "solid/topology.h"

using namespace sketch;
using Catch::Matchers::Contains;

namespace {

double snapped_area(const Loop& loop, double chord = 0.01) {
  std::vector<Vec2> p = polygonised(loop, chord);
  for (Vec2& v : p) v = snap(v);
  return polygon_area(p);
}

int euler(const Mesh& m) {
  // Closed triangle mesh: E = 3 F / 2.
  return static_cast<int>(m.vertices.size()) - static_cast<int>(m.triangles.size()) / 2;
}

// Rounding in the sums of a few thousand facets of up to 1e5 mm3: far below this.
constexpr double volume_relative = 1e-9;

/// Share of solid over one point, worked out straight from the features: nothing in common with the builder but
/// `contains`.
double column_length(const Part& part, Vec2 p) {
  std::vector<std::pair<double, double>> solid;
  const double top = height_at(part.seat, p);
  for (const Feature& f : part.features) {
    bool in = false;
    for (const Loop& l : f.profile) in ^= contains(l, p);
    if (!in) continue;
    const double low = f.from.kind == Bound::Kind::flat ? f.from.z_mm : -1e3;
    const double high = f.to.kind == Bound::Kind::flat ? f.to.z_mm : f.to.kind == Bound::Kind::seat ? top : 1e3;
    std::vector<std::pair<double, double>> next;
    if (f.effect == Effect::cut) {
      for (auto s : solid) {
        if (s.first < std::min(s.second, low)) next.push_back({s.first, std::min(s.second, low)});
        if (std::max(s.first, high) < s.second) next.push_back({std::max(s.first, high), s.second});
      }
    } else {
      std::pair<double, double> grown{low, high};
      for (auto s : solid) {
        if (s.second < grown.first || s.first > grown.second)
          next.push_back(s);
        else
          grown = {std::min(grown.first, s.first), std::max(grown.second, s.second)};
      }
      next.push_back(grown);
    }
    solid = next;
  }
  double sum = 0;
  for (auto s : solid) sum += s.second - s.first;
  return sum;
}

double sampled_volume(const Part& part, double step) {
  const PlaneBox box = bounding_box(part.features[0].profile[0]);
  double sum = 0;
  for (double x = box.low.x - 10 + step / 3; x < box.high.x + 10; x += step)
    for (double y = box.low.y - 10 + step / 7; y < box.high.y + 10; y += step) sum += column_length(part, {x, y});
  return sum * step * step;
}

}  // namespace

TEST_CASE("solid: a prism with holes has the volume and area of the polygon formula") {
  const Loop outer = rectangle(1, 2, 40, 30, 5), a = hole(-8, 0, 3.4), b = hole(9, 4, 6.5);
  const Mesh m = build_solid(part({add("body", outer, 0, 7), through("a", a), through("b", b)}));
  const double plan = snapped_area(outer) - snapped_area(a) - snapped_area(b);
  CHECK(volume(m) == Approx(7 * plan).epsilon(volume_relative));
  double rim = 0;
  for (const Loop& l : {outer, a, b}) {
    const auto p = polygonised(l, 0.01);
    for (std::size_t i = 0; i < p.size(); ++i) rim += length(snap(p[(i + 1) % p.size()]) - snap(p[i]));
  }
  CHECK(area(m) == Approx(2 * plan + 7 * rim).epsilon(volume_relative));
  // Against the smooth shape: facets stay within one chord, so the plan differs by at most chord x rim.
  const double smooth = 40 * 30 - (4 - pi) * 25 - pi * (1.7 * 1.7 + 3.25 * 3.25);
  CHECK(std::fabs(plan - smooth) <= 0.01 * rim);
  CHECK(euler(m) == 2 - 2 * 2);
}

TEST_CASE("solid: Euler number counts the through holes") {
  for (int holes = 0; holes <= 6; ++holes) {
    std::vector<Feature> f{add("body", rectangle(0, 0, 90, 30, 4), 0, 5)};
    for (int i = 0; i < holes; ++i) f.push_back(through("h" + std::to_string(i), hole(-35 + 12 * i, 0, 5)));
    f.push_back(down_to("blind", hole(-35 + 12 * 6, 0, 5), 2));
    CHECK(euler(build_solid(part(f))) == 2 - 2 * holes);
  }
}

TEST_CASE("solid: a domed disc holds the volume under a spherical cap") {
  // Under a sphere's crown over a disc of radius a: pi a^2 (height - h) + cap, cap = pi h^2 (3 R - h) / 3, elementary geometry.
  const double R = 800, a = 40, height = 9;
  const double h = R - std::sqrt(R * R - a * a), cap = pi * h * h * (3 * R - h) / 3;
  Part p = part({add_to_seat("body", disc(0, 0, 2 * a), 0)});
  p.seat = sphere(R, {0, 0}, height);
  for (double chord : {0.01, 0.002}) {
    p.chord_mm = chord;
    const double v = volume(build_solid(p));
    CHECK(v == Approx(pi * a * a * (height - h) + cap).margin(chord * (pi * a * a + 2 * pi * a * height)));
  }
}

TEST_CASE("solid: a cylindrical seat holds the volume of a circular segment") {
  // Over a rectangle 2 b wide, length L: segment area R^2 asin(b/R) - b sqrt(R^2 - b^2), elementary geometry.
  const double R = 300, b = 25, L = 60, height = 8;
  const double drop = R - std::sqrt(R * R - b * b);
  const double segment = R * R * atan2_rad(b, std::sqrt(R * R - b * b)) - b * std::sqrt(R * R - b * b);
  Part p = part({add_to_seat("body", rectangle(0, 0, 2 * b, L), 0)});
  p.seat.shape = SurfaceShape::cylinder;
  p.seat.radius_x = R;
  p.seat.height = height;
  const double exact = L * (2 * b * (height - drop) + segment);
  p.chord_mm = 0.001;
  CHECK(volume(build_solid(p)) == Approx(exact).margin(0.001 * 2 * b * L));
}

TEST_CASE("solid: seat facets stay within chord_mm of the surface") {
  for (double chord : {0.01, 0.003})
    for (double R : {250.0, 800.0, 3000.0})
      for (bool crown : {true, false}) {
        Part p = part({add_to_seat("body", rectangle(3, -2, 70, 50, 6), 0), through("h", hole(5, 5, 8)),
                       down_to("c", hole(-15, 5, 8), 2)});
        p.chord_mm = chord;
        p.seat = sphere(R, {40, 20}, crown ? 30 : 5, crown);
        const Mesh m = build_solid(p);
        double worst = 0;
        for (const auto& t : m.triangles) {
          const Vec3 a = m.vertices[t[0]], b = m.vertices[t[1]], c = m.vertices[t[2]];
          // Seat facets: all three corners on the surface and facing up.
          const auto on = [&](Vec3 v) { return std::fabs(v.z - height_at(p.seat, {v.x, v.y})) < 1e-4; };
          if (!on(a) || !on(b) || !on(c) || cross(b - a, c - a).z <= 1e-6) continue;
          for (int i = 0; i <= 6; ++i)
            for (int j = 0; j + i <= 6; ++j) {
              const Vec3 q = (i / 6.0) * a + (j / 6.0) * b + ((6 - i - j) / 6.0) * c;
              worst = std::max(worst, std::fabs(q.z - height_at(p.seat, {q.x, q.y})));
            }
        }
        INFO("chord " << chord << " R " << R);
        CHECK(worst <= chord);
        CHECK(worst > chord / 10);
      }
}

TEST_CASE("solid: a bevelled disc is a cylinder on a frustum") {
  const double r = 15, c = 0.8, h = 6;
  Part p = part({feature("body", Effect::add, {disc(0, 0, 2 * r)}, Bound::at(0), Bound::at(h), c)});
  const double frustum = pi * c / 3 * (r * r + r * (r - c) + (r - c) * (r - c));
  CHECK(volume(build_solid(p)) == Approx(pi * r * r * (h - c) + frustum).margin(0.01 * 2 * pi * r * h));
  p.features[0].profile[0] = rectangle(0, 0, 30, 20);
  // Sharp corners: prismatoid rule h/6 (A0 + 4 Am + A1), exact here.
  const double bevel = c / 6 * (30 * 20 + 4 * (30 - c) * (20 - c) + (30 - 2 * c) * (20 - 2 * c));
  CHECK(volume(build_solid(p)) == Approx(30 * 20 * (h - c) + bevel).epsilon(1e-6));
}

TEST_CASE("solid: holes let a pin of nominal diameter pass, bosses stay within theirs") {
  const Mesh m = build_solid(part({add("body", rectangle(0, 0, 40, 40), 0, 5), add("boss", disc(8, 8, 10), 5, 9),
                                   through("hole", hole(-8, -8, 3.4))}));
  double boss = 0, pin = 1e9;
  const Vec2 at{-8, -8};
  for (const auto& t : m.triangles) {
    const Vec3 n = cross(m.vertices[t[1]] - m.vertices[t[0]], m.vertices[t[2]] - m.vertices[t[0]]);
    if (std::fabs(n.z) > 1e-9) continue;
    const Vec3 v = m.vertices[t[0]];
    const Vec2 off = Vec2{v.x, v.y} - at;
    if (length(off) < 3) pin = std::min(pin, std::fabs(n.x * off.x + n.y * off.y) / length(n));
  }
  for (const Vec3& v : m.vertices)
    if (v.z > 5) boss = std::max(boss, length(Vec2{v.x - 8, v.y - 8}));
  const double step = Lattice{}.step_mm;
  CHECK(pin >= 1.7 - step);
  CHECK(pin <= 1.7 + 0.01);
  CHECK(boss <= 5 + step);
  CHECK(boss >= 5 - 0.01);
}

TEST_CASE("solid: two holes that cross make one opening, exactly") {
  // Area of the union of two equal discs d apart: 2 pi r^2 - lens, lens = 2 r^2 acos(d/2r) - d/2 sqrt(4r^2 - d^2).
  const double r = 4, d = 5;
  const double lens = 2 * r * r * acos_rad(d / (2 * r)) - d / 2 * std::sqrt(4 * r * r - d * d);
  Part p = part({add("body", rectangle(0, 0, 40, 30), 0, 3), through("a", hole(-2.5, 0, 8)), through("b", hole(2.5, 0, 8))});
  p.chord_mm = 0.002;
  const Mesh m = build_solid(p);
  CHECK(volume(m) == Approx(3 * (40 * 30 - 2 * pi * r * r + lens)).margin(3 * 0.002 * 4 * pi * r));
  CHECK(euler(m) == 0);
}

TEST_CASE("solid: features on the edge: slot through it, boss over it, notch in it") {
  const double h = 4;
  SECTION("slot into the edge") {
    const Mesh m = build_solid(part({add("body", rectangle(0, 0, 40, 30), 0, h),
                                     through("slot", slot_loop({20, 0}, 3, 10, {1, 0}, Facets::outside))}));
    CHECK(volume(m) == Approx(h * (40 * 30 - 5 * 6 - pi * 9 / 2)).margin(h * 0.01 * 30));
    CHECK(euler(m) == 2);
  }
  SECTION("boss over the edge") {
    const Mesh m = build_solid(part({add("body", rectangle(0, 0, 40, 30), 0, h), add("boss", disc(20, 0, 10), 0, h + 3)}));
    CHECK(volume(m) == Approx(h * (40 * 30 + pi * 25 / 2) + 3 * pi * 25).margin(0.01 * 200));
    CHECK(euler(m) == 2);
  }
  SECTION("notch in the edge, part of the height") {
    const Mesh m = build_solid(part({add("body", disc(0, 0, 30), 0, h), down_to("notch", hole(15, 0, 2), 2)}));
    // Lens of circles R = 15 and r = 1, d = 15.
    const double R = 15, r = 1, d = 15;
    const double lens = r * r * acos_rad((d * d + r * r - R * R) / (2 * d * r)) +
                        R * R * acos_rad((d * d + R * R - r * r) / (2 * d * R)) -
                        0.5 * std::sqrt((-d + r + R) * (d + r - R) * (d - r + R) * (d + r + R));
    CHECK(volume(m) == Approx(h * pi * R * R - 2 * lens).margin(h * 0.01 * 2 * pi * R));
  }
  SECTION("a pocket under a crossing boss, levels interleaved") {
    Part p = part({add("body", rectangle(0, 0, 40, 30), 0, h), add("boss", disc(5, 0, 12), -3, h + 2),
                   down_to("pocket", hole(9, 0, 8), 1)});
    const Mesh m = build_solid(p);
    CHECK(volume(m) == Approx(sampled_volume(p, 0.05)).epsilon(0.002));
  }
}

TEST_CASE("solid: what nearly touches is refused by name") {
  const auto build = [](std::vector<Feature> f) { build_solid(part(std::move(f))); };
  const auto named = [&](std::vector<Feature> f, const std::string& code, const std::string& id) {
    try {
      build(std::move(f));
      INFO(id);
      FAIL("built");
    } catch (const CannotBuild& e) {
      INFO(id << ": " << e.what());
      CHECK(e.code == code);
      CHECK(std::count(e.features.begin(), e.features.end(), id) == 1);
      CHECK(!e.remedy.empty());
    }
  };
  const Feature body = add("body", rectangle(0, 0, 40, 30), 0, 5);
  named({body, through("a", hole(-3, 0, 6)), through("b", hole(3.004, 0, 6))}, "features-nearly-touch", "b");
  named({body, through("a", hole(0, 0, 6)), through("b", hole(6, 0, 6))}, "features-nearly-touch", "a");
  named({body, through("edge", hole(16.996, 0, 6))}, "features-nearly-touch", "edge");
  named({body, through("cut", rectangle(0, 0, 4, 60))}, "falls-apart", "cut");
  named({body, down_to("shallow", hole(0, 0, 6), 4.995)}, "features-nearly-touch", "shallow");
  named({body, add("apart", disc(0, 0, 5), 8, 9)}, "falls-apart", "apart");
  named({feature("bevelled", Effect::add, {rectangle(0, 0, 40, 30, 3)}, Bound::at(0), Bound::at(5), 0.5),
         through("near", hole(16.7, 0, 6))}, "chamfer-crossed", "near");
}

TEST_CASE("solid: a floor that comes through the seat is refused") {
  Part p = part({add_to_seat("body", rectangle(0, 0, 60, 60), 0), down_to("mark", rectangle(0, 0, 30, 10), 6.9)});
  p.seat = sphere(500, {60, 0}, 12);
  try {
    build_solid(p);
    FAIL("built");
  } catch (const CannotBuild& e) {
    CHECK(e.code == "floor-through-seat");
    CHECK(std::count(e.features.begin(), e.features.end(), "mark") == 1);
  }
}

TEST_CASE("solid: a part too fine to be meant is refused before the work") {
  Part p = part({add_to_seat("body", rectangle(0, 0, 200, 200), 0)});
  p.seat = sphere(400, {0, 0}, 60);
  p.chord_mm = 1e-5;
  CHECK_THROWS_AS(build_solid(p), CannotBuild);
}

TEST_CASE("solid: coordinates lie on the lattice and lose nothing as float32") {
  Part p = part({add_to_seat("body", hull_of_circles({{-10, -13}, {10, -13}, {23, 30}}, {5.7, 5.7, 6.8}), 0),
                 through("a", hole(1, 2, 3.4)), down_to("b", hole(1.5, 2, 6.5), 3.1)});
  p.seat = sphere(2600, {-75, -45}, 8);
  const Mesh m = build_solid(p);
  for (const Vec3& v : m.vertices)
    for (double c : {v.x, v.y, v.z}) {
      CHECK(c == snap(c));
      CHECK(static_cast<double>(static_cast<float>(c)) == c);
    }
  const Mesh again = build_solid(p);
  CHECK(again.triangles == m.triangles);
  CHECK(std::equal(m.vertices.begin(), m.vertices.end(), again.vertices.begin(), again.vertices.end()));
}

TEST_CASE("solid: the mirrored sketch gives the mirrored solid") {
  Part p = part({add_to_seat("body", hull_of_circles({{-10, -13}, {10, -13}, {23, 30}}, {5.7, 5.7, 6.8}), 0),
                 through("a", hole(1, 2, 3.4)), through("b", hole(14, 20, 4.5))});
  p.seat = sphere(900, {-75, -45}, 12);
  Transform mirror;
  mirror.m[0] = -1;
  Part q = p;
  for (Feature& f : q.features)
    for (Loop& l : f.profile) l = transformed(l, mirror);
  q.seat = transformed(p.seat, mirror);
  const Mesh a = build_solid(p), b = transformed(build_solid(q), mirror);
  // Seat facets may fall differently, but only within the chord over the seat.
  CHECK(volume(a) == Approx(volume(b)).margin(0.01 * snapped_area(p.features[0].profile[0])));
  const Box ba = bounding_box(a), bb = bounding_box(b);
  CHECK(length(ba.low - bb.low) + length(ba.high - bb.high) < 1e-4);
}

TEST_CASE("solid: random overlapping features give the right solid or a clear refusal") {
  const unsigned seed = 20261;
  INFO("seed " << seed);
  std::mt19937 random(seed);
  const auto uniform = [&](double a, double b) { return a + (b - a) * (random() / 4294967296.0); };
  int built = 0, refused = 0;
  for (int run = 0; run < 120; ++run) {
    Part p = part({add_to_seat("body", rectangle(0, 0, uniform(40, 80), uniform(30, 60), uniform(0, 8)), 0)});
    p.seat = sphere(uniform(600, 4000), {uniform(-60, 60), uniform(-60, 60)}, uniform(12, 16), run % 2 == 0);
    const int count = 3 + static_cast<int>(random() % 12);
    for (int i = 0; i < count; ++i) {
      const double x = uniform(-35, 35), y = uniform(-25, 25), size = uniform(2, 14);
      const std::string id = "f" + std::to_string(i);
      switch (random() % 5) {
        case 0: p.features.push_back(through(id, hole(x, y, size))); break;
        case 1: p.features.push_back(down_to(id, hole(x, y, size), 1.0 + random() % 5)); break;
        case 2: p.features.push_back(add(id, disc(x, y, size + 3), -3, 4)); break;
        case 3: {
          const double a = uniform(0, 6.3);
          p.features.push_back(through(id, slot_loop({x, y}, size / 3, 6, {cos_rad(a), sin_rad(a)}, Facets::outside)));
          break;
        }
        default: p.features.push_back(down_to(id, rectangle(x, y, size, uniform(2, 9), uniform(0, 2)), 1.5 + random() % 4));
      }
    }
    INFO("run " << run);
    try {
      const Mesh m = build_solid(p);
      ++built;
      CHECK(!find_defect(m, 0.01));
      const double expected = sampled_volume(p, 0.13);
      // Sampling: the border cells of perimeter / step, random in sign; one percent covers them many times.
      CHECK(volume(m) == Approx(expected).epsilon(0.01));
    } catch (const CannotBuild& e) {
      ++refused;
      CHECK(!e.features.empty());
    }
  }
  CHECK(built >= 60);
  CHECK(refused < built);
}

TEST_CASE("solid: what no kit asks for is refused with its code, and its neighbour is built") {
  const auto code = [](std::vector<Feature> f) -> std::string {
    try {
      build_solid(part(std::move(f)));
    } catch (const CannotBuild& e) {
      return e.code;
    }
    return "built";
  };
  const auto bevelled = [](double by) {
    return feature("body", Effect::add, {rectangle(0, 0, 4, 8, 1)}, Bound::at(0), Bound::at(5), by);
  };
  const Feature body = add("body", rectangle(0, 0, 40, 30), 0, 5);
  CHECK(code({feature("up", Effect::add, {rectangle(0, 0, 9, 9)}, Bound::at(0), Bound::open())}) == "feature-open");
  CHECK(code({body, add("none", disc(0, 0, 5), 7, 7)}) == "feature-empty");
  CHECK(code({body, add("some", disc(0, 0, 5), 5, 7)}) == "built");
  CHECK(code({bevelled(2.5)}) == "bevel-too-wide");
  CHECK(code({bevelled(0.5)}) == "built");
  CHECK(code({}) == "nothing-to-build");
  CHECK(code({add("long", rectangle(0, 0, 2100, 9), 0, 5)}) == "part-too-large");
  CHECK(code({add("long", rectangle(0, 0, 900, 9), 0, 5)}) == "built");
  Part fine = part({add_to_seat("body", rectangle(0, 0, 200, 200), 0)});
  fine.seat = sphere(400, {0, 0}, 60);
  fine.chord_mm = 1e-5;
  try {
    build_solid(fine);
    FAIL("built");
  } catch (const CannotBuild& e) {
    CHECK(e.code == "too-many-facets");
  }
}
