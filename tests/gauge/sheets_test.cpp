// Facets that cross, found with sheets left out, against every pair asked one by one.
#include "gauge/sheets.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <set>

#include "base/close_pairs.h"
#include "base/facets_cross.h"
#include "base/trig.h"
#include "gauge/crossing.h"
#include "gauge/health.h"
#include "gauge/shapes.h"

using namespace bedwright;

namespace {

using Pairs = std::vector<std::pair<std::uint32_t, std::uint32_t>>;

bool has_area(const Mesh& m, std::uint32_t f) {
  const auto& t = m.triangles[f];
  const Vec3 n = cross(m.vertices[t[1]] - m.vertices[t[0]], m.vertices[t[2]] - m.vertices[t[0]]);
  return !has_repeated_vertex(t) && (n.x != 0 || n.y != 0 || n.z != 0);
}

Pairs all_pairs(const Mesh& m) {
  Pairs pairs;
  for (std::uint32_t f = 0; f < m.triangles.size(); ++f)
    for (std::uint32_t g = f + 1; g < m.triangles.size(); ++g)
      if (has_area(m, f) && has_area(m, g) && facets_cross(m, f, g)) pairs.push_back({f, g});
  return pairs;
}

struct Tried {
  Mesh mesh;
  Pairs found, wanted;
  Sheets sheets;
};

Tried tried(const Mesh& soup) {
  Tried t;
  t.mesh = welded(soup);
  const Topology topology = topology_of(t.mesh);
  const std::vector<Facing> facings = facings_of(t.mesh);
  t.sheets = sheets_of(t.mesh, topology, facings);
  t.found = crossing_facets(t.mesh, t.sheets, 1000000).pairs;
  t.wanted = all_pairs(t.mesh);
  // What hangs together is the same by way of the sheets and facet by facet.
  const Shells by_sheets = shells_of(t.mesh, topology, t.sheets), by_facets = shells_of(t.mesh, topology, {});
  CHECK(by_sheets.shell == by_facets.shell);
  CHECK(by_sheets.turned == by_facets.turned);
  CHECK(by_sheets.volume_mm3 == by_facets.volume_mm3);
  CHECK(by_sheets.wrong_way == by_facets.wrong_way);
  CHECK(by_sheets.minority == by_facets.minority);
  return t;
}

bool all_proven(const Sheets& s) {
  return std::count(s.proven.begin(), s.proven.end(), 1) == static_cast<std::ptrdiff_t>(s.proven.size());
}

/// A strip of facets between two curves of as many points, its upper side up.
Mesh strip(const std::vector<Vec3>& right, const std::vector<Vec3>& left) {
  Mesh m;
  for (std::size_t i = 0; i < right.size(); ++i) {
    m.vertices.push_back(right[i]);
    m.vertices.push_back(left[i]);
  }
  for (std::uint32_t i = 0; i + 1 < right.size(); ++i) {
    m.triangles.push_back({2 * i, 2 * i + 2, 2 * i + 1});
    m.triangles.push_back({2 * i + 1, 2 * i + 2, 2 * i + 3});
  }
  return m;
}

/// A ramp that winds about Z by `turns`, its radius growing by `grows` a turn.
Mesh ramp(double turns, double rises, double grows) {
  std::vector<Vec3> right, left;
  const int steps = static_cast<int>(24 * turns);
  for (int i = 0; i <= steps; ++i) {
    const double turn = i / 24.0, angle = 2 * pi * turn, radius = 10 + grows * turn;
    right.push_back({(radius + 4) * std::cos(angle), (radius + 4) * std::sin(angle), rises * turn});
    left.push_back({radius * std::cos(angle), radius * std::sin(angle), rises * turn});
  }
  return strip(right, left);
}

}  // namespace

TEST_CASE("close pairs: those of all boxes that overlap, but for groups that are apart, each once") {
  std::mt19937 random(11);
  for (int round = 0; round < 60; ++round) {
    BoxedGroups in;
    std::vector<std::uint32_t> group_of;
    const int groups = 1 + static_cast<int>(random() % 12);
    for (int g = 0; g < groups; ++g) {
      in.first.push_back(static_cast<std::uint32_t>(in.items.size()));
      in.apart.push_back(random() % 2);
      const int count = 1 + static_cast<int>(random() % 60);
      for (int i = 0; i < count; ++i) {
        // Few places in some rounds: many boxes that are equal, flat or touch.
        const int places = round % 3 == 0 ? 3 : 40;
        const Vec3 low{double(random() % places), double(random() % places), double(random() % places)};
        const Vec3 high{low.x + random() % 3, low.y + random() % 3, low.z + random() % 3};
        in.items.push_back({box_of({low, high}), static_cast<std::uint32_t>(group_of.size())});
        group_of.push_back(static_cast<std::uint32_t>(g));
      }
    }
    in.first.push_back(static_cast<std::uint32_t>(in.items.size()));
    std::multiset<std::pair<std::uint32_t, std::uint32_t>> found, wanted;
    for (std::uint32_t a = 0; a < in.items.size(); ++a)
      for (std::uint32_t b = a + 1; b < in.items.size(); ++b)
        if (overlap(in.items[a].box, in.items[b].box) && (group_of[a] != group_of[b] || !in.apart[group_of[a]]))
          wanted.insert({a, b});
    for_each_close_pair(in, [&](std::uint32_t a, std::uint32_t b) {
      found.insert(std::minmax(a, b));
      return true;
    });
    REQUIRE(found == wanted);
    std::size_t seen = 0;
    for_each_close_pair(in, [&](std::uint32_t, std::uint32_t) { return ++seen < 3; });
    CHECK(seen == std::min<std::size_t>(3, wanted.size()));
  }
}

TEST_CASE("sheets: each of a plate's, a ring's and a dome's is proven, and nothing crosses") {
  shapes::Plate plate;
  plate.outline = shapes::rounded_rectangle({0, 0}, {60, 40}, 6, 8);
  plate.top = shapes::sphere(300, {0, 0}, 6, 1);
  plate.grid_mm = 4;
  shapes::Column hole;
  hole.outer = shapes::circle({10, 5}, 5, 24, true);
  plate.columns = {hole};
  for (const Mesh& m : {shapes::build(plate), shapes::box({0, 0, 0}, {10, 20, 30}),
                        shapes::turned_profile({{2, 0}, {5, 0}, {5, 3}, {2, 3}}, 16)}) {
    const Tried t = tried(m);
    CHECK(t.wanted.empty());
    CHECK(t.found.empty());
    CHECK(all_proven(t.sheets));
    CHECK(t.sheets.facets.size() == t.mesh.triangles.size());
    CHECK(t.sheets.first.size() < 40);
  }
}

TEST_CASE("sheets: a ramp that winds over itself is not proven, one that lies flat beside itself is") {
  const Tried over = tried(ramp(2.5, 3, 0)), beside = tried(ramp(2.5, 0, 6)), through = tried(ramp(2.5, 0, 1));
  CHECK_FALSE(all_proven(over.sheets));
  CHECK(over.wanted.empty());
  CHECK(over.found.empty());
  CHECK(all_proven(beside.sheets));
  CHECK(beside.sheets.first.size() == 2);
  CHECK(beside.found.empty());
  CHECK_FALSE(all_proven(through.sheets));
  CHECK_FALSE(through.wanted.empty());
  CHECK(through.found == through.wanted);
}

TEST_CASE("sheets: a border that touches itself at a corner, along an edge and at a place of an edge") {
  // A ring of squares round a square hole, its end pulled to where it begins.
  struct Case {
    Vec3 last_outer, last_inner;
    double rises = 0;  ///< how far above the rest the corners before the end lie
    bool proven = false;
  };
  for (const Case& c : std::vector<Case>{{{0, 1, 0}, {2, 3, 0}, 0, true},  // open
                                         {{0, 1, 0}, {2, 2, 0}, 0, true},  // one corner in common
                                         {{0, 0, 0}, {2, 2, 0}, 0, true},  // closed
                                         {{0, 1, 0}, {1, 1, 0}},           // a corner on the first edge
                                         {{0, 0, 0}, {1, 1, 0}},           // an edge along half of it
                                         {{0, 0, 0}, {1, 1, 0}, 1},        // as well, from above
                                         {{0, 1, 0}, {3, 1.5, 0}},         // over it
                                         {{0, 1, 0}, {3, 1.5, 1}}}) {      // above it
    const Tried t = tried(strip({{0, 0, 0}, {6, 0, 0}, {6, 6, 0}, {0, 6, c.rises}, c.last_outer},
                                {{2, 2, 0}, {4, 2, 0}, {4, 4, 0}, {2, 4, c.rises}, c.last_inner}));
    CAPTURE(c.last_outer.y, c.last_inner.x, c.last_inner.z, c.rises);
    CHECK(t.found == t.wanted);
    CHECK(all_proven(t.sheets) == c.proven);
  }
}

TEST_CASE(
    "sheets: a fin that stands on an edge leaves a slit in the sheet below it, which is then asked facet by facet") {
  Mesh m = strip({{0, 0, 0}, {2, 0, 0}, {4, 0, 0}, {6, 0, 0}}, {{0, 2, 0}, {2, 2, 0}, {4, 2, 0}, {6, 2, 0}});
  const auto tip = static_cast<std::uint32_t>(m.vertices.size());
  m.vertices.push_back({2, 1, 3});
  m.triangles.push_back({2, 3, tip});
  const Tried t = tried(m);
  CHECK(t.found == t.wanted);
  CHECK(t.wanted.empty());
}

TEST_CASE("crossing: the same pairs as asked one by one, of surfaces that fold and of any facets") {
  std::mt19937 random(20261127);
  const auto any = [&random](double reach) { return reach * (static_cast<double>(random() % 2049) / 1024.0 - 1); };
  int crossed = 0, proven = 0, unproven = 0;
  for (int round = 0; round < 240; ++round) {
    Mesh m;
    if (round % 4 == 3) {
      // Few places: corners on edges, edges on edges, the same facet twice.
      for (int i = 0; i < 40; ++i) {
        const auto first = static_cast<std::uint32_t>(m.vertices.size());
        for (int k = 0; k < 3; ++k)
          m.vertices.push_back({double(random() % 4), double(random() % 4), double(random() % 3)});
        m.triangles.push_back({first, first + 1, first + 2});
      }
    } else {
      // A sheet of squares whose corners wander: a little, so that none folds, or so far that some do.
      const double reach = round % 4 == 0 ? 0.3 : round % 4 == 1 ? 0.7 : 1.5;
      const int n = 9, axis = round % 3;
      for (int j = 0; j <= n; ++j)
        for (int i = 0; i <= n; ++i) {
          const double x = i + any(reach), y = j + any(reach), z = any(1);
          m.vertices.push_back(axis == 0 ? Vec3{z, x, y} : axis == 1 ? Vec3{y, z, x} : Vec3{x, y, z});
        }
      for (std::uint32_t j = 0; j < n; ++j)
        for (std::uint32_t i = 0; i < n; ++i) {
          const std::uint32_t a = j * (n + 1) + i, b = a + 1, c = a + n + 1, d = c + 1;
          m.triangles.push_back({a, b, d});
          m.triangles.push_back({a, d, c});
          if (round % 5 == 0 && random() % 8 == 0) std::swap(m.triangles.back()[0], m.triangles.back()[1]);
        }
      if (round % 2 == 0)
        for (auto& t : m.triangles) std::swap(t[0], t[1]);  // looking down
    }
    const Tried t = tried(m);
    REQUIRE(t.found == t.wanted);
    crossed += static_cast<int>(t.wanted.size());
    for (std::size_t s = 0; s < t.sheets.proven.size(); ++s) {
      const bool many = t.sheets.first[s + 1] - t.sheets.first[s] > 1;
      proven += many && t.sheets.proven[s];
      unproven += many && !t.sheets.proven[s];
    }
    // Where few pairs are kept at a time, they are asked on the way; in shares, the same are found.
    Suspects some = suspects_of(t.mesh, t.sheets, 1000000, 7);
    CHECK(some.pairs.size() < 7);
    Pairs found = some.found;
    for (const auto& [from, to] :
         {std::pair<std::size_t, std::size_t>{0, some.pairs.size() / 2}, {some.pairs.size() / 2, some.pairs.size()}})
      for (const auto& pair : crossing_among(t.mesh, t.sheets, some, from, to, 1000000, some.questions))
        found.push_back(pair);
    std::sort(found.begin(), found.end());
    CHECK(found == t.wanted);
    CHECK(some.questions > 0.9 * most_questions(t.mesh.triangles.size()));
    // At most so many are told, and no fewer than there are.
    CHECK(crossing_facets(t.mesh, t.sheets, 3).pairs.size() == std::min<std::size_t>(3, t.wanted.size()));
  }
  CHECK(crossed > 1000);
  CHECK(proven > 1000);
  CHECK(unproven > 50);
}

TEST_CASE("sheets: a border whose edges all lie across each other is left to the search facet by facet", "[sheets]") {
  // A flat comb of long slanted teeth, none of which meets another.
  for (const std::uint32_t teeth : {60u, 600u}) {
    Mesh m;
    for (std::uint32_t i = 0; i <= teeth; ++i) {
      m.vertices.push_back({0.05 * i, -1, 0});
      m.vertices.push_back({0.05 * i, 0, 0});
      m.vertices.push_back({0.05 * i + 100, 100, 0});
      if (i == teeth) break;
      const std::uint32_t n = 3 * i;
      m.triangles.push_back({n, n + 3, n + 4});
      m.triangles.push_back({n, n + 4, n + 1});
      m.triangles.push_back({n + 1, n + 4, n + 2});
    }
    m.vertices.pop_back();  // of a tooth that is not there
    const Tried t = tried(m);
    CHECK(t.wanted.empty());
    CHECK(t.found == t.wanted);
    REQUIRE(t.sheets.proven.size() == 1);
    CHECK(bool(t.sheets.proven[0]) == (teeth == 60));
  }
}
