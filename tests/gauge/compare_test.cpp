// Every mistake of design 6.3 is made to three different parts, and must be named, first and (unless a list says
// otherwise) alone; good files must never be accused.
#include "gauge/compare.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "gauge/dimensions.h"
#include "gauge/read_mesh.h"
#include "gauge/sample_parts.h"

using namespace bedwright;
using samples::Item;
using samples::Recipe;

namespace {

using Codes = std::vector<std::string>;

struct Made {
  Part part;
  Mesh solid;
  Transform print_to_part;
  Candidate candidate() const { return {&part, &solid, print_to_part}; }
  /// As its file would hold it.
  Mesh file() const { return transformed(solid, inverse(print_to_part)); }
};

Made make(const Recipe& r, const Transform& print_to_part = {}) {
  return {samples::part_of(r), samples::mesh_of(r), print_to_part};
}

Comparison compared(const Mesh& file, const Made& expected, const std::vector<Made>& others = {}) {
  std::vector<Candidate> rest;
  for (const Made& m : others) rest.push_back(m.candidate());
  return compare(measure(shapes::soup(file)), expected.candidate(), rest);
}

std::string told(const Comparison& c) {
  std::string out;
  for (std::size_t i = 0; i < c.words.size(); ++i) out += c.mistakes[i] + ": " + c.words[i] + "\n";
  return out;
}

Mesh scaled(Mesh m, double factor) {
  for (Vec3& v : m.vertices) v = factor * v;
  return m;
}

Mesh mirrored(const Mesh& m) {
  Transform t;
  t.m[0] = -1;
  return transformed(m, t);
}

std::vector<Recipe> all() {
  return samples::three_plates();
}

void check_accused(const Comparison& c, const Codes& codes, bool ok = false) {
  INFO(told(c));
  CHECK(c.mistakes == codes);
  CHECK(c.words.size() == codes.size());
  CHECK(c.ok == ok);
}

void check_good(const Comparison& c) {
  INFO(told(c));
  CHECK(c.mistakes.empty());
  CHECK(c.ok);
  for (const MeasuredDimension& d : c.dimensions) {
    INFO(d.feature << " " << d.quantity << " " << d.modelled_mm << " measured " << d.measured_mm.value_or(-1e9));
    CHECK(d.measured_mm.has_value());
    CHECK(d.ok);
  }
}

}  // namespace

TEST_CASE("compare: a good file is not accused, and every dimension is measured") {
  for (const Recipe& r : all()) check_good(compared(make(r).file(), make(r)));
  // Printed with the seat down.
  for (const Recipe& r : all()) {
    const Made m = make(r, compose(shift({0, 0, 6}), quarter_turn(0, 2)));
    check_good(compared(m.file(), m));
  }
}

TEST_CASE("compare: shifted, turned about Z, renumbered or as text, a good file is still good") {
  for (const Recipe& r : all()) {
    const Made m = make(r);
    check_good(compared(transformed(m.file(), shift({17.25, -3.5, 40})), m));
    check_good(compared(transformed(m.file(), quarter_turn(2, 1)), m));
    check_good(compared(transformed(m.file(), compose(shift({5, 5, 0}), turn_about_z(0.61))), m));
    Mesh shuffled = m.file();
    std::reverse(shuffled.triangles.begin(), shuffled.triangles.end());
    for (auto& t : shuffled.triangles) t = {t[1], t[2], t[0]};
    check_good(compared(shuffled, m));
    check_good(compare(measure(read_stl(shapes::ascii_stl(m.file()), "a.stl")), m.candidate(), {}));
  }
}

TEST_CASE("compare: parts that are their own mirror image or unchanged by turning over are not accused") {
  const Made ring = make(samples::plain_ring());
  check_good(compared(mirrored(ring.file()), ring));
  check_good(compared(transformed(ring.file(), quarter_turn(0, 2)), ring));
  check_good(compared(transformed(ring.file(), compose(shift({1, 2, 3}), turn_about_z(0.3))), ring));
  check_accused(compared(transformed(ring.file(), quarter_turn(0, 1)), ring), {"turned"}, true);
  Recipe even = all()[0];
  even.seat.apex = {0, 0};
  even.items = {{Item::Kind::counterbore, "screw-1", {-10, 0}, 6.5, 3.4, 0, 3},
                {Item::Kind::counterbore, "screw-2", {10, 0}, 6.5, 3.4, 0, 3}};
  check_good(compared(mirrored(make(even).file()), make(even)));
}

TEST_CASE("compare: inside-out") {
  for (const Recipe& r : all()) check_accused(compared(shapes::inside_out(make(r).file()), make(r)), {"inside-out"});
}

TEST_CASE("compare: partly-inside-out") {
  for (const Recipe& r : all()) {
    Mesh m = make(r).file();
    for (std::size_t f = 40; f < 55; ++f) std::swap(m.triangles[f][1], m.triangles[f][2]);
    check_accused(compared(m, make(r)), {"partly-inside-out"});
  }
}

TEST_CASE("compare: not-closed") {
  for (const Recipe& r : all()) {
    Mesh m = make(r).file();
    m.triangles.erase(m.triangles.begin() + 17);
    check_accused(compared(m, make(r)), {"not-closed"});
  }
}

TEST_CASE("compare: mirrored") {
  for (const Recipe& r : all()) {
    check_accused(compared(mirrored(make(r).file()), make(r)), {"mirrored"});
    Transform y;
    y.m[5] = -1;
    check_accused(compared(transformed(make(r).file(), compose(turn_about_z(0.4), y)), make(r)), {"mirrored"});
  }
}

TEST_CASE("compare: upside-down") {
  for (const Recipe& r : all()) {
    check_accused(compared(transformed(make(r).file(), quarter_turn(0, 2)), make(r)), {"upside-down"});
    const Transform over = compose(turn_about_z(1.1), compose(shift({3, 0, 9}), quarter_turn(1, 2)));
    check_accused(compared(transformed(make(r).file(), over), make(r)), {"upside-down"});
  }
}

TEST_CASE("compare: turned is said, but is no error") {
  for (const Recipe& r : all()) {
    check_accused(compared(transformed(make(r).file(), quarter_turn(0, 1)), make(r)), {"turned"}, true);
    const Transform tipped = compose(quarter_turn(1, 1), compose(turn_about_z(0.3), quarter_turn(1, 3)));
    check_accused(compared(transformed(make(r).file(), tipped), make(r)), {"turned"}, true);
  }
}

TEST_CASE("compare: scales, either way") {
  for (const Recipe& r : all()) {
    const Mesh m = make(r).file();
    check_accused(compared(scaled(m, 1 / 25.4), make(r)), {"scale-inch"});
    check_accused(compared(scaled(m, 25.4), make(r)), {"scale-inch"});
    check_accused(compared(scaled(m, 0.1), make(r)), {"scale-centimetre"});
    check_accused(compared(scaled(m, 10), make(r)), {"scale-centimetre"});
    check_accused(compared(scaled(m, 0.001), make(r)), {"scale-metre"});
    check_accused(compared(scaled(m, 1000), make(r)), {"scale-metre"});
  }
}

TEST_CASE("compare: wrong-part") {
  const std::vector<Recipe> plates = all();
  for (std::size_t i = 0; i < 3; ++i) {
    const Comparison c = compared(make(plates[(i + 1) % 3]).file(), make(plates[i]),
                                  {make(plates[(i + 1) % 3]), make(plates[(i + 2) % 3])});
    check_accused(c, {"wrong-part"});
    CHECK(c.words[0].find(plates[(i + 1) % 3].id) != std::string::npos);
    // A part of no kit at all is not this one either.
    check_accused(compared(shapes::box({0, 0, 0}, {33, 44, 55}), make(plates[i]), {make(plates[(i + 1) % 3])}),
                  {"wrong-part"});
  }
}

TEST_CASE("compare: the other hand's file is named as such") {
  for (const Recipe& r : all()) {
    Made right = make(samples::other_hand(r, r.id + "-right"));
    right.part.mirror_of = r.id;
    const Comparison c = compared(right.file(), make(r), {right});
    INFO(told(c));
    CHECK(c.mistakes == Codes{"wrong-part", "mirrored"});
    CHECK(c.words[0].find("other hand") != std::string::npos);
  }
}

TEST_CASE("compare: wrong-boss-side") {
  for (const Recipe& r : all()) {
    Recipe wrong = r;
    for (Item& i : wrong.items)
      if (i.kind == Item::Kind::boss_below) {
        i.kind = Item::Kind::boss_above;
        i.level = 10.5;
      }
    check_accused(compared(samples::mesh_of(wrong), make(r)), {"wrong-boss-side"});
  }
}

TEST_CASE("compare: wrong-dome, bowed the other way, another radius, another apex") {
  for (const Recipe& r : all()) {
    Recipe bowed = r, wide = r, off = r;
    bowed.seat.sign = -r.seat.sign;
    wide.seat.radius_x *= 1.1;
    wide.seat.radius_y *= 1.1;
    off.seat.apex.x += 12;
    for (const Recipe* wrong : {&bowed, &wide, &off})
      check_accused(compared(samples::mesh_of(*wrong), make(r)), {"wrong-dome"});
  }
}

TEST_CASE("compare: feature-missing") {
  for (const Recipe& r : all())
    for (std::size_t k = 0; k < r.items.size(); ++k) {
      Recipe wrong = r;
      wrong.items.erase(wrong.items.begin() + static_cast<std::ptrdiff_t>(k));
      const Comparison c = compared(samples::mesh_of(wrong), make(r));
      check_accused(c, {"feature-missing"});
      INFO(r.id);
      REQUIRE(c.words.size() == 1);
      CHECK(c.words[0].find(r.items[k].id) != std::string::npos);
    }
}

TEST_CASE("compare: feature-moved") {
  for (const Recipe& r : all())
    for (double by : {0.1, 0.6, 1.5}) {
      Recipe wrong = r;
      wrong.items[0].at.y += by;
      const Comparison c = compared(samples::mesh_of(wrong), make(r));
      check_accused(c, {"feature-moved"});
      CHECK(c.words[0].find(r.items[0].id) != std::string::npos);
    }
}

TEST_CASE("compare: a level that is off is a feature moved") {
  for (const Recipe& r : all()) {
    Recipe thick = r;
    thick.seat.height += 0.4;
    const Comparison c = compared(samples::mesh_of(thick), make(r));
    check_accused(c, {"feature-moved"});
    CHECK(c.words[0].find("thickness") != std::string::npos);
  }
}

// A sphere of radius R falls by R - sqrt(R^2 - d^2) at d from its apex. The plate's point farthest from the apex lies on the
// round of a corner, on the line from the apex through the round's centre; its facets miss it by less than 0.0003 mm in height.
TEST_CASE("compare: a seat is as thick as it stands over the carriage's face, wherever that lies in the file") {
  const Recipe r = all()[0];
  REQUIRE(r.seat.shape == SurfaceShape::sphere);
  const double inset = r.size.x / 2 - r.corner, across = r.size.y / 2 - r.corner;
  const double d = std::hypot(r.seat.apex.x + inset, r.seat.apex.y + across) + r.corner, radius = r.seat.radius_x;
  const double lowest = r.seat.height - (radius - std::sqrt(radius * radius - d * d));
  for (const double face : {0.0, 0.5, -0.25}) {
    Mesh file = make(r).file();
    for (Vec3& v : file.vertices)
      if (v.z == 0) v.z = face;
    const Measurement m = measure(shapes::soup(file));
    int seen = 0;
    for (const MeasuredDimension& one : measured_dimensions(make(r).part, placed(m.mesh, m.features, 1, {}))) {
      if (one.feature != "seat" || one.quantity != "thickness") continue;
      ++seen;
      CAPTURE(face);
      REQUIRE(one.measured_mm.has_value());
      CHECK(*one.measured_mm == Approx(lowest - face).margin(0.001));
    }
    CHECK(seen == 1);
  }
}

TEST_CASE("compare: measured values come from the file") {
  for (const Recipe& r : all()) {
    Made expected = make(r);
    const Mesh file = expected.file();
    for (Feature& f : expected.part.features)
      for (Dimension& d : f.dimensions) d.modelled_mm += 0.04;
    const Comparison c = compared(file, expected);
    for (const MeasuredDimension& d : c.dimensions) {
      INFO(d.feature << " " << d.quantity);
      REQUIRE(d.measured_mm.has_value());
      if (d.tolerance_mm < 0.035) CHECK_FALSE(d.ok);
    }
  }
}
