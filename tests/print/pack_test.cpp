#include "print/pack.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <fstream>
#include <map>
#include <random>
#include <sstream>

#include "print/outline_cells.h"

using namespace bedwright;

namespace {

BedRules bed_of(double x, double y) {
  BedRules rules;
  rules.bed_mm = {x, y};
  return rules;
}

/// What no packing may get wrong: every copy once, clear of the rim and of each other. Boxes only.
void check_layout(const Packed& p, const std::vector<Printed>& things, const BedRules& rules) {
  std::map<std::string, int> count;
  for (const Bed& b : p.beds) {
    struct Box {
      double x0, y0, x1, y1;
    };
    std::vector<Box> boxes;
    for (const OnBed& item : b.items) {
      ++count[item.part];
      Vec3 size;
      for (const Printed& t : things)
        if (t.part == item.part) size = t.size_mm;
      const bool across = item.quarters % 2;
      const double w = across ? size.y : size.x, h = across ? size.x : size.y;
      const Box box{item.at.x - w / 2, item.at.y - h / 2, item.at.x + w / 2, item.at.y + h / 2};
      CHECK(box.x0 >= rules.edge_mm - 1e-3);
      CHECK(box.y0 >= rules.edge_mm - 1e-3);
      CHECK(box.x1 <= rules.bed_mm.x - rules.edge_mm + 1e-3);
      CHECK(box.y1 <= rules.bed_mm.y - rules.edge_mm + 1e-3);
      for (const Box& o : boxes) {
        const double dx = std::max({0.0, box.x0 - o.x1, o.x0 - box.x1}),
                     dy = std::max({0.0, box.y0 - o.y1, o.y0 - box.y1});
        CHECK(std::sqrt(dx * dx + dy * dy) >= rules.gap_mm - 1e-3);
      }
      boxes.push_back(box);
    }
  }
  for (const Printed& t : things) CHECK(count[t.part] == t.quantity * rules.sets);
}

Mesh prism(const std::vector<Vec2>& outline, double height) {
  // Star-shaped about the origin: enough for what is packed here.
  Mesh m;
  m.vertices = {{0, 0, 0}, {0, 0, height}};
  const auto n = static_cast<std::uint32_t>(outline.size());
  for (const Vec2 p : outline) {
    m.vertices.push_back({p.x, p.y, 0});
    m.vertices.push_back({p.x, p.y, height});
  }
  for (std::uint32_t i = 0; i < n; ++i) {
    const std::uint32_t a = 2 + 2 * i, b = 2 + 2 * ((i + 1) % n);
    m.triangles.push_back({0, b, a});
    m.triangles.push_back({1, a + 1, b + 1});
    m.triangles.push_back({a, b, b + 1});
    m.triangles.push_back({a, b + 1, a + 1});
  }
  return m;
}

Vec2 turned(Vec2 v, int quarters) {
  for (int i = 0; i < quarters; ++i) v = {-v.y, v.x};
  return v;
}

double distance(Vec2 p, Vec2 a, Vec2 b) {
  const Vec2 d = b - a;
  const double t = std::clamp(dot(p - a, d) / dot(d, d), 0.0, 1.0);
  return length(p - a - t * d);
}

/// Least distance of two polygons that do not cross: a corner of one from an edge of the other.
double apart(const std::vector<Vec2>& a, const std::vector<Vec2>& b) {
  double least = 1e9;
  for (const auto& [from, to] : {std::pair{&a, &b}, {&b, &a}})
    for (const Vec2 p : *from)
      for (std::size_t i = 0; i < to->size(); ++i)
        least = std::min(least, distance(p, (*to)[i], (*to)[(i + 1) % to->size()]));
  return least;
}

}  // namespace

TEST_CASE("pack: four quarters of a bed go onto it, five need a second", "[pack]") {
  // 220 - 2 x 5 of rim - 4 between: two of 103.
  const BedRules rules;
  const std::vector<Printed> four = {{"q", 4, {103, 103, 10}}}, five = {{"q", 5, {103, 103, 10}}};
  CHECK(packed(four, rules).beds.size() == 1);
  check_layout(packed(four, rules), four, rules);
  CHECK(packed(five, rules).beds.size() == 2);
  CHECK(packed({{"q", 4, {103.1, 103, 10}}}, rules).beds.size() == 2);
}

TEST_CASE("pack: a part that fits only turned is turned, one that fits neither way is named", "[pack]") {
  const std::vector<Printed> things = {{"long", 1, {100, 280, 4}}, {"huge", 1, {300, 300, 4}}};
  const Packed p = packed(things, bed_of(300, 150));
  REQUIRE(p.beds.size() == 1);
  REQUIRE(p.beds[0].items.size() == 1);
  CHECK(p.beds[0].items[0].quarters % 2 == 1);
  CHECK(p.too_large == std::vector<std::string>{"huge"});
}

TEST_CASE("pack: what fits the bed but not within its rim has a bed to itself", "[pack]") {
  const Packed p = packed({{"wide", 1, {218, 100, 4}}, {"small", 2, {20, 20, 4}}}, BedRules{});
  REQUIRE(p.beds.size() == 2);
  REQUIRE(p.beds[1].items.size() == 1);
  CHECK(p.beds[1].items[0].part == "wide");
  CHECK(p.beds[1].items[0].at == Vec2{110, 110});
}

// Hopper and Turton, European Journal of Operational Research 128 (2001) 34-57: rectangles cut from one sheet, so that
// its height is the optimum. tests/data/reference/packing.txt.
TEST_CASE("pack: published instances of known optimum take at most five percent more", "[pack]") {
  std::ifstream file(std::string(BEDWRIGHT_ROOT) + "/tests/data/reference/packing.txt");
  int instances = 0;
  for (std::string line; std::getline(file, line);) {
    if (line.empty() || line[0] == '#') continue;
    std::istringstream text(line);
    std::string name;
    double width = 0, height = 0, w = 0, h = 0, area = 0;
    text >> name >> width >> height;
    const double scale = width > 20 ? 5 : 10;
    std::vector<Printed> things;
    while (text >> w >> h) {
      things.push_back({name + "-" + std::to_string(things.size()), 1, {w * scale, h * scale, 5}});
      area += w * h;
    }
    CAPTURE(name);
    REQUIRE(area == width * height);
    BedRules rules;
    rules.edge_mm = rules.gap_mm = 0;
    rules.bed_mm = {width * scale, std::floor(1.05 * height * scale)};
    const Packed p = packed(things, rules);
    CHECK(p.beds.size() == 1);
    check_layout(p, things, rules);
    ++instances;
  }
  CHECK(instances == 5);
}

// Perfect squared rectangle of order 9 (Moron 1925): nine different squares fill 33 x 32 without a gap. With gap and
// rim taken off each, a bed of that size holds them all; area alone allows no more.
TEST_CASE("pack: a perfect squared rectangle is at most one bed worse than its optimum", "[pack]") {
  std::vector<Printed> things;
  const BedRules usual;
  for (const int side : {18, 15, 14, 10, 9, 8, 7, 4, 1})
    things.push_back({"s" + std::to_string(side), 1, {side * 10.0 - usual.gap_mm, side * 10.0 - usual.gap_mm, 5}});
  const BedRules rules = bed_of(330 + 2 * usual.edge_mm - usual.gap_mm, 320 + 2 * usual.edge_mm - usual.gap_mm);
  const Packed p = packed(things, rules);
  CHECK(p.beds.size() <= 2);
  check_layout(p, things, rules);
}

TEST_CASE("pack: random sets stay clear of rim and each other, and need few beds more than their area", "[pack]") {
  std::uint32_t state = 7;
  const auto random = [&](double low, double high) {
    state = state * 1664525u + 1013904223u;
    return low + (high - low) * (state >> 8) / 16777216.0;
  };
  const BedRules rules;
  for (int round = 0; round < 20; ++round) {
    std::vector<Printed> things;
    double area = 0;
    for (int i = 0; i < 12; ++i) {
      things.push_back(
          {"p" + std::to_string(i), 1 + static_cast<int>(random(0, 4)), {random(8, 90), random(8, 90), random(1, 60)}});
      area +=
          things.back().quantity * (things.back().size_mm.x + rules.gap_mm) * (things.back().size_mm.y + rules.gap_mm);
    }
    const Packed p = packed(things, rules);
    check_layout(p, things, rules);
    CHECK(static_cast<double>(p.beds.size()) <= area / (214.0 * 214) * 1.25 + 1);
    CHECK(p.too_large.empty());
    const Packed again = packed(things, rules);
    REQUIRE(again.beds.size() == p.beds.size());
    for (std::size_t b = 0; b < p.beds.size(); ++b)
      for (std::size_t i = 0; i < p.beds[b].items.size(); ++i)
        CHECK(again.beds[b].items[i].at == p.beds[b].items[i].at);
  }
}

TEST_CASE("pack: the tallest part stands to the rear", "[pack]") {
  const Packed p = packed({{"tower", 1, {30, 30, 120}}, {"flat", 3, {200, 40, 4}}}, BedRules{});
  REQUIRE(p.beds.size() == 1);
  for (const OnBed& item : p.beds[0].items)
    if (item.part == "tower") CHECK(item.at.y == 220 - 5 - 15);
}

TEST_CASE("pack: true outlines nest where their boxes would not", "[pack]") {
  // Right-angled triangles: two share the square of their legs but for the gap; by boxes one bed holds one.
  const std::vector<Vec2> corner = {{-60, -60}, {60, -60}, {-60, 60}};
  std::vector<Vec2> centred = corner;
  const Mesh mesh = [&] {
    Mesh m = prism({{-40, -40}, {80, -40}, {-40, 80}}, 5);
    for (Vec3& v : m.vertices) v = v - Vec3{20, 20, 0};
    return m;
  }();
  BedRules rules = bed_of(140, 140);
  const std::vector<Printed> shaped = {{"t", 2, {120, 120, 5}, &mesh}}, boxed = {{"t", 2, {120, 120, 5}}};
  CHECK(packed(boxed, rules).beds.size() == 2);
  const Packed p = packed(shaped, rules);
  REQUIRE(p.beds.size() == 1);
  std::vector<std::vector<Vec2>> placed;
  for (const OnBed& item : p.beds[0].items) {
    std::vector<Vec2> points;
    for (const Vec2 q : centred) points.push_back(item.at + turned(q, item.quarters));
    for (const Vec2 q : points) {
      CHECK(std::min({q.x, q.y, 140 - q.x, 140 - q.y}) >= rules.edge_mm - 1e-3);
    }
    placed.push_back(points);
  }
  CHECK(apart(placed[0], placed[1]) >= rules.gap_mm - 1e-3);
}

TEST_CASE("pack: one set a bed, one kind a bed, and those to print first before all others", "[pack]") {
  std::vector<Printed> things = {{"a", 2, {40, 30, 5}}, {"b", 1, {20, 20, 30}}};
  BedRules rules;
  rules.sets = 3;
  CHECK(packed(things, rules).beds.size() == 1);
  rules.plan = BedPlan::sets;
  const Packed sets = packed(things, rules);
  REQUIRE(sets.beds.size() == 3);
  for (const Bed& bed : sets.beds) CHECK(bed.items.size() == 3);
  CHECK(sets.beds[2].items.back().copy == 3);
  rules.plan = BedPlan::kinds;
  const Packed kinds = packed(things, rules);
  REQUIRE(kinds.beds.size() == 2);
  for (const Bed& bed : kinds.beds)
    CHECK(std::all_of(bed.items.begin(), bed.items.end(), [&](const OnBed& i) { return i.part == bed.items[0].part; }));
  rules = {};
  things[0].rank = 1;
  const Packed first = packed(things, rules);
  REQUIRE(first.beds.size() == 2);
  CHECK(first.beds[0].items[0].part == "b");
}

TEST_CASE("pack: a part that is turned to the cooling air is not turned again", "[pack]") {
  const Mesh mesh = prism({{-30, -10}, {30, -10}, {20, 10}, {-30, 10}}, 5);
  const std::vector<Printed> things = {{"t", 5, {60, 20, 5}, &mesh, true}};
  for (const Bed& bed : packed(things, BedRules{}).beds)
    for (const OnBed& item : bed.items) CHECK(item.quarters == 0);
  // But where it fits no other way.
  const Packed narrow = packed({{"t", 1, {60, 20, 5}, &mesh, true}}, bed_of(50, 100));
  REQUIRE(narrow.beds.size() == 1);
  CHECK(narrow.beds[0].items[0].quarters % 2 == 1);
}

TEST_CASE("outline cells: every cell that a shape touches is its own, and no other", "[pack]") {
  const Mesh triangle = prism({{-10, -6}, {10, -6}, {-4, 9}}, 3);
  const Cells cells = outline_cells(triangle, 1);
  const std::vector<Vec2> corners = {{-10, -6}, {10, -6}, {-4, 9}};
  const Vec2 middle{cells.width() / 2.0, cells.height() / 2.0};
  for (int y = 0; y < cells.height(); ++y)
    for (int x = 0; x < cells.width(); ++x) {
      // A cell shares area with the triangle if, clipped by its three edges, some of it is left.
      std::vector<Vec2> left;
      for (const Vec2 c : {Vec2{0, 0}, {1, 0}, {1, 1}, {0, 1}}) left.push_back(Vec2{double(x), double(y)} + c - middle);
      for (std::size_t k = 0; k < 3; ++k) {
        const Vec2 a = corners[k], d = corners[(k + 1) % 3] - a;
        std::vector<Vec2> kept;
        for (std::size_t i = 0; i < left.size(); ++i) {
          const Vec2 p = left[i], q = left[(i + 1) % left.size()];
          const double sp = cross(d, p - a), sq = cross(d, q - a);
          if (sp >= 0) kept.push_back(p);
          if ((sp > 0 && sq < 0) || (sp < 0 && sq > 0)) kept.push_back(p + (sp / (sp - sq)) * (q - p));
        }
        left = kept;
      }
      double twice = 0;
      for (std::size_t i = 0; i < left.size(); ++i) twice += cross(left[i], left[(i + 1) % left.size()]);
      if (std::fabs(twice) > 1e-3) CHECK(cells.at(x, y));
      if (left.empty()) CHECK_FALSE(cells.at(x, y));
    }
}

TEST_CASE("outline cells: what is in the way, how far it reaches and what it leaves are as cell by cell", "[pack]") {
  constexpr int width = 200, room = 64;  // rows of four words
  std::mt19937 random(7);
  const auto below = [&](int n) { return static_cast<int>(random() % static_cast<unsigned>(n)); };
  const auto runs = [&](int across, int deep, int count) {
    Cells cells(across, deep);
    for (int i = 0; i < count; ++i) {
      const int x = below(across);
      cells.fill(x, x + 1 + below(150), below(deep));  // many end at a word's end or at the row's
    }
    return cells;
  };
  const auto meet = [](const Cells& a, const Cells& b, int x, int y) {
    for (int j = 0; j < b.height(); ++j)
      for (int i = 0; i < b.width(); ++i)
        if (b.at(i, j) && a.at(x + i, y + j)) return true;
    return false;
  };
  int met = 0, far = 0;
  for (int round = 0; round < 1000; ++round) {
    Cells taken(width + room, 6);
    taken.add(runs(width, 6, below(5)), 0, 0);
    const Cells thing = runs(1 + below(140), 3, 1 + below(4));
    const int x = below(width - thing.width() + 1), y = below(4);
    const int step = taken.blocked(thing, x, y);
    REQUIRE((step > 0) == meet(taken, thing, x, y));
    met += step > 0;
    far += step > 64;
    for (int k = 1; k < step && x + k + thing.width() <= width; ++k) REQUIRE(meet(taken, thing, x + k, y));
    Cells both = taken;
    both.add(thing, x, y);
    for (int j = 0; j < both.height(); ++j)
      for (int i = 0; i < both.width(); ++i) {
        const bool own = i >= x && i < x + thing.width() && j >= y && j < y + 3 && thing.at(i - x, j - y);
        REQUIRE(both.at(i, j) == (own || taken.at(i, j)));
      }
  }
  CHECK(met > 100);
  CHECK(far > 50);
}
