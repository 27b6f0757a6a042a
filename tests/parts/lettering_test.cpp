#include "parts/lettering.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "base/error.h"

using namespace bedwright;

namespace {

using Polygon = std::vector<Vec2>;

const std::string all_characters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.+/#";
constexpr double height_mm = 3.5;  // the height for which the drawing states its strokes and gaps

Polygon corners(const Loop& loop) {
  Polygon points;
  for (const Curve& curve : loop.curves) points.push_back(curve.start);
  return points;
}

std::vector<Polygon> polygons(const std::string& text, double height = height_mm) {
  std::vector<Polygon> result;
  for (const Loop& loop : letter_loops(text, height)) result.push_back(corners(loop));
  return result;
}

double distance_to_segment(Vec2 p, Vec2 a, Vec2 b) {
  const Vec2 d{b.x - a.x, b.y - a.y};
  const double t = ((p.x - a.x) * d.x + (p.y - a.y) * d.y) / (d.x * d.x + d.y * d.y);
  const double u = std::min(1.0, std::max(0.0, t));
  return length(Vec2{p.x - a.x - u * d.x, p.y - a.y - u * d.y});
}

bool cross(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  const auto side = [](Vec2 p, Vec2 q, Vec2 r) { return (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x); };
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

/// Least distance between two segments; 0 where they cross.
double segment_distance(Vec2 a, Vec2 b, Vec2 c, Vec2 d) {
  if (cross(a, b, c, d)) return 0;
  return std::min(std::min(distance_to_segment(a, c, d), distance_to_segment(b, c, d)),
                  std::min(distance_to_segment(c, a, b), distance_to_segment(d, a, b)));
}

double polygon_distance(const Polygon& a, const Polygon& b) {
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < a.size(); ++i) {
    for (std::size_t j = 0; j < b.size(); ++j) {
      least = std::min(least, segment_distance(a[i], a[(i + 1) % a.size()], b[j], b[(j + 1) % b.size()]));
    }
  }
  return least;
}

/// Least distance between two edges of one polygon that do not share a corner.
double own_distance(const Polygon& p) {
  double least = std::numeric_limits<double>::infinity();
  const std::size_t n = p.size();
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = i + 2; j < n; ++j) {
      if (i == 0 && j == n - 1) continue;
      least = std::min(least, segment_distance(p[i], p[i + 1], p[j], p[(j + 1) % n]));
    }
  }
  return least;
}

bool filled(const std::vector<Polygon>& loops, Vec2 p) {
  bool inside = false;
  for (const Polygon& q : loops) {
    for (std::size_t i = 0; i < q.size(); ++i) {
      const Vec2 a = q[i], b = q[(i + 1) % q.size()];
      if ((a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)) inside = !inside;
    }
  }
  return inside;
}

double edge_distance(const std::vector<Polygon>& loops, Vec2 p) {
  double least = std::numeric_limits<double>::infinity();
  for (const Polygon& q : loops) {
    for (std::size_t i = 0; i < q.size(); ++i) {
      least = std::min(least, distance_to_segment(p, q[i], q[(i + 1) % q.size()]));
    }
  }
  return least;
}

/// How far the worst point of the ink (or of what is not ink) is from the nearest disc of that diameter that lies
/// wholly in it. A right-angled corner leaves diameter / 2 * (sqrt 2 - 1); a stroke or gap that is too narrow leaves
/// more, or has no disc near it (then `reach` is returned).
double worst_left_out(const std::vector<Polygon>& loops, bool ink, double diameter_mm, double reach_mm) {
  constexpr double step_mm = 0.05;
  constexpr double border_mm = 1;
  double right = 0, top = 0;
  for (const Polygon& q : loops) {
    for (Vec2 p : q) right = std::max(right, p.x), top = std::max(top, p.y);
  }
  const int columns = static_cast<int>((right + 2 * border_mm) / step_mm) + 1;
  const int rows = static_cast<int>((top + 2 * border_mm) / step_mm) + 1;
  const auto at = [&](int i, int j) { return Vec2{i * step_mm - border_mm, j * step_mm - border_mm}; };
  std::vector<double> depth(static_cast<std::size_t>(columns) * rows, -1);
  for (int j = 0; j < rows; ++j) {
    for (int i = 0; i < columns; ++i) {
      if (filled(loops, at(i, j)) == ink)
        depth[static_cast<std::size_t>(j) * columns + i] = edge_distance(loops, at(i, j));
    }
  }
  const double radius = diameter_mm / 2;
  const int window = static_cast<int>((radius + reach_mm) / step_mm) + 1;
  double worst = 0;
  for (int j = 0; j < rows; ++j) {
    for (int i = 0; i < columns; ++i) {
      const double own = depth[static_cast<std::size_t>(j) * columns + i];
      if (own < 0 || own >= radius) continue;
      double left_out = reach_mm;
      for (int b = std::max(0, j - window); b <= std::min(rows - 1, j + window); ++b) {
        for (int a = std::max(0, i - window); a <= std::min(columns - 1, i + window); ++a) {
          const double centre_depth = depth[static_cast<std::size_t>(b) * columns + a];
          // Half a cell's diagonal: the best centre may lie between the samples.
          if (centre_depth < radius - 0.71 * step_mm) continue;
          left_out = std::min(left_out, length(Vec2{(a - i) * step_mm, (b - j) * step_mm}) - centre_depth);
        }
      }
      worst = std::max(worst, left_out);
    }
  }
  return worst;
}

/// Corner points on the 20-unit drawing grid, shifted so that the left edge is 0, sorted: two equal pictures compare
/// equal.
std::vector<std::pair<int, int>> picture(const std::vector<Polygon>& loops, bool mirrored, bool turned) {
  std::vector<std::pair<int, int>> points;
  for (const Polygon& q : loops) {
    for (Vec2 p : q) {
      int x = static_cast<int>(std::lround(p.x)), y = static_cast<int>(std::lround(p.y));
      if (mirrored != turned) x = -x;
      if (turned) y = 20 - y;
      points.emplace_back(x, y);
    }
  }
  int left = points.front().first;
  for (const auto& p : points) left = std::min(left, p.first);
  for (auto& p : points) p.first -= left;
  std::sort(points.begin(), points.end());
  return points;
}

}  // namespace

TEST_CASE("each letter is made of simple polygons that keep clear of each other", "[lettering]") {
  for (char c : all_characters) {
    INFO("character " << c);
    const auto loops = polygons(std::string(1, c));
    REQUIRE(!loops.empty());
    for (std::size_t i = 0; i < loops.size(); ++i) {
      const Polygon& p = loops[i];
      REQUIRE(polygon_area(p) > 0);
      for (std::size_t k = 0; k < p.size(); ++k) {
        const Vec2 a = p[k], b = p[(k + 1) % p.size()];
        REQUIRE(length(b - a) >= 0.3);
      }
      // A flat of two units between slanted corners, 0.35 mm, is the least.
      if (p.size() > 3) REQUIRE(own_distance(p) >= 0.3);
      for (std::size_t j = i + 1; j < loops.size(); ++j) REQUIRE(polygon_distance(p, loops[j]) >= 0.69);
    }
  }
}

TEST_CASE("letters stay within their height and their stated width", "[lettering]") {
  for (char c : all_characters) {
    INFO("character " << c);
    double left = 1e9, right = -1e9, bottom = 1e9, top = -1e9;
    for (const Polygon& q : polygons(std::string(1, c))) {
      for (Vec2 p : q) {
        left = std::min(left, p.x), right = std::max(right, p.x);
        bottom = std::min(bottom, p.y), top = std::max(top, p.y);
      }
    }
    CHECK(left == Approx(0).margin(1e-12));
    CHECK(right == Approx(text_width_mm(std::string(1, c), height_mm)).margin(1e-12));
    CHECK(bottom >= -1e-12);
    CHECK(top <= height_mm + 1e-12);
  }
}

TEST_CASE("strokes take a disc of 0.7 mm and gaps one of 0.5 mm at 3.5 mm height", "[lettering]") {
  // What a right-angled corner leaves out, plus the sampling error of the discs.
  const double ink_corner_mm = 0.35 * (std::sqrt(2.0) - 1) + 0.04;
  const double gap_corner_mm = 0.25 * (std::sqrt(2.0) - 1) + 0.04;
  for (char c : all_characters) {
    INFO("character " << c);
    const auto loops = polygons(std::string(1, c));
    CHECK(worst_left_out(loops, true, 0.7, 0.5) <= ink_corner_mm);
    CHECK(worst_left_out(loops, false, 0.5, 0.5) <= gap_corner_mm);
  }
}

TEST_CASE("the stroke measurement sees a thin stroke and a narrow gap", "[lettering]") {
  const std::vector<Polygon> thin = {{{0, 0}, {3, 0}, {3, 3}, {1, 3}, {1, 2}, {2, 2}, {2, 0.6}, {0, 0.6}}};
  CHECK(worst_left_out(thin, true, 0.7, 0.5) > 0.25);
  const std::vector<Polygon> narrow = {{{0, 0}, {1, 0}, {1, 3}, {0, 3}}, {{1.4, 0}, {2.4, 0}, {2.4, 3}, {1.4, 3}}};
  CHECK(worst_left_out(narrow, false, 0.5, 0.5) > 0.25);
}

TEST_CASE("neighbouring letters keep half a millimetre", "[lettering]") {
  for (char a : all_characters) {
    for (char b : all_characters) {
      const auto first = polygons(std::string(1, a));
      const auto both = polygons(std::string{a, b});
      for (std::size_t i = 0; i < first.size(); ++i) {
        for (std::size_t j = first.size(); j < both.size(); ++j) {
          INFO(a << b);
          REQUIRE(polygon_distance(both[i], both[j]) >= 0.5);
        }
      }
    }
  }
}

TEST_CASE("no letter is the mirror image or the half turn of another, but for those drawn so", "[lettering]") {
  const std::string own_mirror = "AHIMOTUVWXY08-.+#";
  const std::string own_half_turn = "HINOSXZ0-.+/#";
  for (char a : all_characters) {
    for (char b : all_characters) {
      INFO(a << " and " << b);
      const auto plain = picture(polygons(std::string(1, b), 20), false, false);
      const auto seen = picture(polygons(std::string(1, a), 20), true, false);
      CHECK((seen == plain) == (a == b && own_mirror.find(a) != std::string::npos));
      const std::string pair{a, b};
      const bool drawn_so = pair == "69" || pair == "96" || pair == "MW" || pair == "WM";
      // '.' is a square and compares equal although it moves up.
      const bool same_turned = a == b && own_half_turn.find(a) != std::string::npos && a != '.';
      const auto turned = picture(polygons(std::string(1, a), 20), false, true);
      CHECK((turned == plain) == (same_turned || drawn_so));
    }
  }
}

TEST_CASE("letters read along +X and stand up along +Y", "[lettering]") {
  // L: foot at the lower right; F: no foot, arm at the upper right; the stem is at the left.
  const auto l = polygons("L", 20), f = polygons("F", 20);
  CHECK(filled(l, {2, 18}));
  CHECK(filled(l, {11, 2}));
  CHECK_FALSE(filled(l, {11, 18}));
  CHECK(filled(f, {11, 18}));
  CHECK_FALSE(filled(f, {11, 2}));
  const auto lf = polygons("LF", 20);
  CHECK(filled(lf, {16 + 11, 18}));
}

TEST_CASE("letters with counters leave them open", "[lettering]") {
  for (char c : std::string("ADOPR046 9Q")) CHECK(letter_loops(std::string(1, c), 5).size() == (c == ' ' ? 0u : 2u));
  for (char c : std::string("B8")) CHECK(letter_loops(std::string(1, c), 5).size() == 3);
  for (char c : std::string("CEFGHIJKLMNSTUVWXYZ12357-.+/")) {
    INFO(c);
    CHECK(letter_loops(std::string(1, c), 5).size() == 1);
  }
  CHECK_FALSE(filled(polygons("O", 20), {8, 10}));
  CHECK(filled(polygons("O", 20), {2, 10}));
}

TEST_CASE("text: width, blanks, capitals and what has no letter", "[lettering]") {
  CHECK(letter_loops("", 3.5).empty());
  CHECK(text_width_mm("", 3.5) == 0);
  CHECK(letter_loops(" ", 3.5).empty());
  // E is 12 units, I 4, and 4 between: 20 units of a height of 20.
  CHECK(text_width_mm("EI", 10) == Approx(10));
  CHECK(polygons("up").size() == polygons("UP").size());
  CHECK(polygons("up")[0].size() == polygons("UP")[0].size());
  for (char c : all_characters) CHECK(has_glyph(c));
  CHECK(has_glyph(' '));
  CHECK(has_glyph('q'));
  CHECK_FALSE(has_glyph('_'));
  CHECK_FALSE(has_glyph('\0'));
  CHECK_THROWS_WITH(letter_loops("A_B", 3.5), Catch::Contains("'_'") && Catch::Contains("A_B"));
  CHECK_THROWS_AS(text_width_mm("\xc3\xa4", 3.5), Error);
  CHECK_THROWS_AS(letter_loops("A", 0), Error);
  CHECK_THROWS_AS(letter_loops("A", std::numeric_limits<double>::quiet_NaN()), Error);
}

TEST_CASE("the arrow points to +Y and is as fat as it says", "[lettering]") {
  const Polygon arrow = corners(arrow_loop(4));
  const std::vector<Polygon> loops = {arrow};
  double top = -9, bottom = 9, right = -9;
  for (Vec2 p : arrow) top = std::max(top, p.y), bottom = std::min(bottom, p.y), right = std::max(right, p.x);
  CHECK(top == Approx(2));
  CHECK(bottom == Approx(-2));
  CHECK(right == Approx(1.6));
  CHECK(filled(loops, {0, 1.9}));
  CHECK(filled(loops, {1.5, 0.2}));
  CHECK_FALSE(filled(loops, {1.5, -0.5}));
  CHECK_FALSE(filled(loops, {1.5, 1.5}));
  CHECK(own_distance(arrow) >= 0.5);
  // The measuring grid wants the shape in the positive quadrant.
  std::vector<Polygon> moved = loops;
  for (Vec2& p : moved[0]) p = {p.x + 2, p.y + 2};
  CHECK(worst_left_out(moved, true, 0.8, 0.5) <= 0.4 * (std::sqrt(2.0) - 1) + 0.04);
  CHECK_THROWS_AS(arrow_loop(-1), Error);
}
