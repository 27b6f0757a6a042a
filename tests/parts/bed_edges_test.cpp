// Edges on the print bed: the chamfers' volumes in closed form, what they leave of the seat, and the written file has
// them.
#include "parts/bed_edges.h"

#include <catch2/catch.hpp>

#include "base/error.h"
#include "output/make_set.h"
#include "parts/support.h"
#include "print/pose.h"
#include "solid/build.h"

using namespace parts_test;

namespace {

constexpr double half_x = 20, half_y = 15, high = 5, bevel = 0.4, chord = 0.002;

Part block(Surface top = {}) {
  const Loop edge = rectangle_loop({0, 0}, {2 * half_x, 2 * half_y}, 0);
  Part part;
  part.id = "block";
  part.chord_mm = chord;
  const bool flat = top.shape == SurfaceShape::plane;
  top.height = high;
  part.seat = top;
  part.features = {outline(edge, edge, Bound::at(0), flat ? Bound::at(high) : Bound::at_seat(), bevel, chord),
                   seat(top, {edge}, {edge}, chord)};
  return part;
}

Surface dome(double radius_mm) {
  Surface s;
  s.shape = SurfaceShape::sphere;
  s.radius_x = s.radius_y = radius_mm;
  s.sign = 1;
  s.apex = {4, -3};
  return s;
}

}  // namespace

TEST_CASE("bed edges: a plate on an edge loses half the square of the chamfer along it, on every side and width") {
  for (const Vec2 up : {Vec2{0, 1}, Vec2{0, -1}, Vec2{1, 0}, Vec2{-1, 0}})
    for (const double width : edge_chamfers_mm) {
      const Part eased = with_eased_edge(block(), up, width);
      const double along = 2 * (up.x != 0 ? half_y : half_x);
      CHECK(volume(build_solid(block())) - volume(build_solid(eased)) ==
            Approx(along * width * width / 2).margin(1e-3));
      CHECK(states(eased, "printed on an edge"));
    }
}

TEST_CASE("bed edges: under a dome the chamfer follows it, and the wall beside it ends as far below as it is wide") {
  const double radius = 900, width = 0.6;
  const Part eased = with_eased_edge(block(dome(radius)), {0, 1}, width);
  const Mesh solid = build_solid(eased);
  int on_wall = 0, on_line = 0;
  for (const Vec3& v : solid.vertices) {
    if (v.z < high - 2) continue;
    const double x = v.x - 4, y = v.y + 3, dome_z = high - radius + std::sqrt(radius * radius - x * x - y * y);
    if (std::fabs(v.y + half_y) < 1e-4) {
      ++on_wall;
      CHECK(v.z == Approx(dome_z - width).margin(1e-4));
    }
    if (std::fabs(v.y + half_y - width) < 1e-4) {
      ++on_line;
      CHECK(v.z == Approx(dome_z).margin(1e-4));
    }
  }
  CHECK(on_wall > 4);
  CHECK(on_line > 4);
  // Lost: the strip's half square along the edge; a slope of one in 75 changes it by less than its share.
  const double lost = volume(build_solid(block(dome(radius)))) - volume(solid);
  CHECK(lost == Approx(2 * half_x * width * width / 2).epsilon(0.02));
}

TEST_CASE("bed edges: the seat ends where the chamfer begins, and the file's thickness is that of what is left") {
  const Part whole = block(dome(900)), eased = with_eased_edge(whole, {1, 0}, 0.6);
  const Feature& before = whole.features[1];
  const Feature& after = eased.features[1];
  CHECK(bounding_box(after.profile.front()).low.x == Approx(-half_x + 0.6));
  CHECK(bounding_box(after.profile.front()).high.x == Approx(half_x));
  CHECK(nominal(after, "thickness") == nominal(before, "thickness"));
  // The farthest corner from the apex, at (-20, 15), is gone; the farthest of the rest is (-19.4, 15).
  const double x = -19.4 - 4, y = 15 + 3;
  CHECK(modelled(after, "thickness") == Approx(high - 900 + std::sqrt(900 * 900 - x * x - y * y)).margin(1e-6));
}

TEST_CASE(
    "bed edges: no chamfer where the kit wants no bevel, where the side is slanted, or where the outline is round") {
  Part plain = block();
  plain.features.front().chamfer_mm = 0;
  CHECK(with_eased_edge(plain, {0, 1}, 0.6).features.size() == plain.features.size());
  CHECK(with_eased_top(plain).statements.empty());
  Part slanted = block();
  slanted.features.front().profile = {polygon_loop({{-20, -15}, {20, -14}, {20, 15}, {-20, 15}})};
  CHECK(with_eased_edge(slanted, {0, 1}, 0.6).features.size() == slanted.features.size());
  CHECK(with_eased_edge(slanted, {0, -1}, 0.6).features.size() == slanted.features.size() + 1);
  Part round = block();
  round.features.front().profile = {circle_loop({0, 0}, 10, Facets::inside)};
  CHECK(with_eased_edge(round, {0, 1}, 0.6).features.size() == round.features.size());
}

TEST_CASE("bed edges: upside down, the upper edge is bevelled like the lower one, mitred at the corners") {
  const Part eased = with_eased_top(block());
  // A frustum c high whose faces are the rectangle and the rectangle drawn in by c.
  const double a = 2 * half_x, b = 2 * half_y, c = bevel;
  const double frustum = a * b * c - (a + b) * c * c + 4 * c * c * c / 3;
  CHECK(volume(build_solid(block())) - volume(build_solid(eased)) == Approx(a * b * c - frustum).margin(1e-3));
  CHECK(bounding_box(eased.features[1].profile.front()).low.x == Approx(-half_x + c));
  Part bossed = block();
  bossed.features.push_back(boss_to_seat("pad", {0, 0}, 8, high, high + 2, {}));
  CHECK(with_eased_top(bossed).statements.empty());
}

TEST_CASE("bed edges: a plate that stands on its edge has the chamfer in its file, measured") {
  const Kit kit = demo_kit("north-bench");
  int plates = 0;
  for (const Part& part : of_family(parts_of(kit), "adapter_plate")) {
    ++plates;
    std::vector<MadePart> made = {make_part(kit, part)};
    REQUIRE(made.front().report.pose.eased_mm > 0);
    compare_made(made, 0);
    bool measured = false;
    for (const MeasuredDimension& d : made.front().report.dimensions)
      if (d.feature == "bed-edge") {
        measured = true;
        REQUIRE(d.measured_mm);
        CHECK(*d.measured_mm == Approx(made.front().report.pose.eased_mm).margin(0.005));
      }
    CHECK(measured);
    CHECK_FALSE(states(made.front().report.part, "scrape first-layer flare"));
  }
  CHECK(plates > 0);
}

TEST_CASE("bed edges: a file whose chamfer is cut too shallow, or not at all, is found out") {
  const Kit kit = demo_kit("north-bench");
  const Part part = of_family(parts_of(kit), "adapter_plate").front();
  for (const double wrong_mm : {0.4, 0.0}) {
    std::vector<MadePart> made = {make_part(kit, part)};
    Part drawn = made.front().report.part;
    for (Feature& f : drawn.features)
      if (f.id == "bed-edge") f.chamfer_mm = wrong_mm, f.effect = wrong_mm > 0 ? Effect::cut : Effect::none;
    Part built = part;
    built.features = drawn.features;
    made.front().measured = measure(build_solid(built));
    made.front().measured.mesh =
        transformed(made.front().measured.mesh, inverse(made.front().report.pose.print_to_part));
    made.front().measured = measure(made.front().measured.mesh);
    compare_made(made, 0);
    bool off = false;
    for (const MeasuredDimension& d : made.front().report.dimensions)
      if (d.feature == "bed-edge") off = !d.measured_mm || !d.ok;
    CHECK(off);
  }
}

TEST_CASE("bed edges: flat-bench prints its plates upside down, with their seat's edge eased all round") {
  const Kit kit = demo_kit("flat-bench");
  const Part part = of_family(parts_of(kit), "adapter_plate").front();
  const MadePart made = make_part(kit, part);
  REQUIRE(made.report.pose.way == Way::upside_down);
  CHECK(made.report.pose.eased_mm == Approx(0.4));
  CHECK_FALSE(states(made.report.part, "scrape first-layer flare"));
}

TEST_CASE("bed edges: an end bracket's straight edges on the bed are cut, beside the base as well, each measured") {
  const Kit kit = demo_kit("whole-bench");
  int brackets = 0;
  for (const Part& part : of_family(parts_of(kit), "end_bracket")) {
    ++brackets;
    std::vector<MadePart> made = {make_part(kit, part)};
    CHECK(made.front().report.pose.sharp.empty());
    compare_made(made, 0);
    int edges = 0;
    for (const MeasuredDimension& d : made.front().report.dimensions)
      if (d.feature.rfind("bed-edge-", 0) == 0) {
        ++edges;
        REQUIRE(d.measured_mm);
        CHECK(*d.measured_mm == Approx(bed_chamfer_mm).margin(0.005));
      }
    CHECK(edges == count_of(part, FeatureKind::chamfer));
    CHECK(edges >= 4);
    CHECK(states(made.front().report.part, "its round and short ones have none"));
  }
  CHECK(brackets == 3);
}

TEST_CASE("bed edges: a chamfer that leaves no valid solid is given up alone, and the part says so") {
  const Kit kit = demo_kit("whole-bench");
  for (Part part : of_family(parts_of(kit), "end_bracket")) {
    if (part.id != "bracket-front-left") continue;
    // Ends so that the cut's corner lies in line with two corners of the contour's round corner: a sliver.
    for (Feature& f : part.features)
      if (f.id == "bed-edge-5")
        f.from = Bound::at(10.2);
      else if (f.id == "bed-edge-6")
        f.from = Bound::at(-109.8);
    CHECK_THROWS_AS(build_solid(part), CannotBuild);
    const MadePart made = make_part(kit, part);
    CHECK(made.report.pose.sharp == std::vector<std::string>{"bed-edge-5"});
    CHECK(states(made.report.part, "and some others have none"));
    CHECK(count_of(made.report.part, FeatureKind::chamfer) == 6);
  }
}
