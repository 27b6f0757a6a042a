// Bars, templates, coupon, plug and towers: their sizes against the kit they were made from.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "base/error.h"
#include "gauge/compare.h"
#include "gauge/gauge.h"
#include "parts/support.h"
#include "solid/build.h"

using namespace parts_test;

namespace {

Part only(const std::string& json, const std::vector<Setting>& more = {}) {
  const std::vector<Part> parts = parts_of(kit_with_part(json, more));
  REQUIRE(parts.size() == 1);
  return parts.front();
}

Vec2 middle_of(const Part& part, const std::string& id) {
  const Feature* f = feature_of(part, id);
  REQUIRE(f);
  return {f->at.x, f->at.y};
}

/// The upper chain of a dome template's outline, by rising x.
std::vector<Vec2> curved_edge(const Part& part) {
  std::vector<Vec2> edge;
  for (const Curve& c : part.features.front().profile.front().curves)
    if (c.start.y > 0) edge.push_back(c.start);
  std::sort(edge.begin(), edge.end(), [](Vec2 a, Vec2 b) { return a.x < b.x; });
  return edge;
}

}  // namespace

TEST_CASE("bridge bar: carries both carriages' screw patterns at the rail pitch") {
  // north-bench: rails 150 apart, carriage holes 20 x 15 (size 12, short).
  const Part p = only(R"({"id": "bridge", "family": "bridge_bar"})");
  CHECK(middle_of(p, "hole-1") == Vec2{-85, -7.5});
  CHECK(middle_of(p, "hole-8") == Vec2{85, 7.5});
  CHECK(middle_of(p, "hole-5").x - middle_of(p, "hole-1").x == 150);
  // ISO 273 fine, M3.
  CHECK(nominal(*feature_of(p, "hole-1"), "diameter") == 3.2);
}

TEST_CASE("rail gauge: two openings at the rail pitch, as wide as the rail and the clearance") {
  const Part p = only(R"({"id": "g", "family": "rail_gauge", "clearance_mm": 0.15})", {{"/rails/pitch_mm", "160"}});
  CHECK(nominal(*feature_of(p, "opening-left"), "width") == Approx(12.15));
  CHECK(middle_of(p, "opening-right").x - middle_of(p, "opening-left").x == 160);
  // Shallower than the rail is high, so that it comes to sit on the rails.
  const Feature& opening = *feature_of(p, "opening-left");
  const PlaneBox body = bounding_box(p.features.front().profile.front());
  CHECK(opening.at.y - body.low.y < 8);
}

TEST_CASE("rail gauge: an opening that was moved or made wider is measured so") {
  Part wanted = only(R"({"id": "g", "family": "rail_gauge"})");
  Part made = wanted;
  for (Feature& f : made.features)
    if (f.id == "opening-left") f.profile = {rectangle_loop({-74.9, -15}, {12.3, 20.5}, 0)};
  const Mesh solid = build_solid(wanted);
  const Comparison comparison = compare(measure(build_solid(made)), {&wanted, &solid, {}}, {});
  double width = 0, x = 0;
  for (const MeasuredDimension& d : comparison.dimensions)
    if (d.feature == "opening-left" && d.measured_mm) (d.quantity == "width" ? width : x) = *d.measured_mm;
  CHECK(width == Approx(12.3).margin(1e-3));
  CHECK(x == Approx(-74.9).margin(1e-3));
}

TEST_CASE("dome template: its edge is the sheet's underside, by the sagitta of the sphere") {
  // north-bench: R 2600, crown up, apex at the centre. sag = R - sqrt(R^2 - a^2).
  const Part p = only(R"({"id": "d", "family": "dome_template", "length_mm": 200})");
  const std::vector<Vec2> edge = curved_edge(p);
  REQUIRE(edge.size() > 5);
  const double top = edge[edge.size() / 2].y;
  double worst = 0;
  for (std::size_t i = 0; i + 1 < edge.size(); ++i)
    for (int k = 0; k <= 10; ++k) {
      const double x = edge[i].x + (edge[i + 1].x - edge[i].x) * k / 10,
                   y = edge[i].y + (edge[i + 1].y - edge[i].y) * k / 10;
      worst = std::max(worst, std::fabs(y - (top - (2600 - std::sqrt(2600.0 * 2600 - x * x)))));
    }
  CHECK(worst < 2 * 0.005 + 1e-6);  // each chord strays 0.005 at most, and the middle corner may itself be a chord's
  CHECK(edge.front().x == -100);
  CHECK(edge.back().x == 100);
  CHECK(top - edge.front().y == Approx(2600 - std::sqrt(2600.0 * 2600 - 1e4)).margin(0.006));
}

TEST_CASE("dome template: hollow for a crown down, straight for a flat frame and along a cylinder") {
  const Part down = only(R"({"id": "d", "family": "dome_template"})", {{"/frame/dome/crown", "down"}});
  const std::vector<Vec2> hollow = curved_edge(down);
  CHECK(hollow[hollow.size() / 2].y < hollow.front().y - 1);
  CHECK(curved_edge(only(R"({"id": "d", "family": "dome_template"})", {{"/frame/dome", R"({"shape": "flat"})"}}))
            .size() == 2);
  const std::vector<Setting> cylinder = {
      {"/frame/dome", R"({"shape": "cylinder", "radius_mm": 2600, "crown": "up", "axis": "y"})"}};
  CHECK(curved_edge(only(R"({"id": "d", "family": "dome_template", "along": "y"})", cylinder)).size() == 2);
  CHECK(curved_edge(only(R"({"id": "d", "family": "dome_template", "along": "x"})", cylinder)).size() > 5);
}

TEST_CASE("dome template: a line off the frame's surface is refused") {
  CHECK_THROWS_AS(only(R"({"id": "d", "family": "dome_template", "length_mm": 600, "offset_mm": 290})",
                       {{"/frame/dome/radius_mm", "400"}}),
                  CannotBuild);
}

TEST_CASE("fit coupon: spacings stand apart from diameters, and the ladder is about the insert's own hole") {
  const Part p = only(R"({"id": "c", "family": "fit_coupon", "insert": "m3-standard"})");
  CHECK(middle_of(p, "spacing-2").x - middle_of(p, "spacing-1").x == 80);
  CHECK(middle_of(p, "spacing-3").y - middle_of(p, "spacing-1").y == 46);
  CHECK(nominal(*feature_of(p, "insert-5"), "diameter") - nominal(*feature_of(p, "insert-1"), "diameter") ==
        Approx(0.4));
  const double heights[] = {1, 2, 4, 8};
  for (int i = 0; i < 4; ++i) CHECK(nominal(*feature_of(p, "boss-" + std::to_string(i + 1)), "height") == heights[i]);
}

TEST_CASE("hole plug: the tip enters the hole, the shoulder is the largest hole that ISO 286 H13 allows") {
  // ISO 273 medium M4: 4.5; ISO 286-1 IT13 for 3 to 6 mm: 0.18.
  const Part p = only(R"({"id": "p", "family": "hole_plug", "screw": "M4"})");
  CHECK(nominal(*feature_of(p, "tip"), "diameter") == Approx(4.1));
  CHECK(nominal(*feature_of(p, "shoulder"), "diameter") == Approx(4.68));
}

TEST_CASE("screw gauge: each tower is as high as its screw is long, from the underside") {
  const Part p = only(R"({"id": "s", "family": "screw_gauge", "screw": "M4", "lengths_mm": [12, 6, 8]})");
  const double lengths[] = {6, 8, 12};
  for (int i = 0; i < 3; ++i) {
    const Feature& tower = *feature_of(p, "tower-" + std::to_string(i + 1));
    CHECK(tower.to.z_mm == lengths[i]);
    CHECK(middle_of(p, "hole-" + std::to_string(i + 1)) == Vec2{tower.at.x, tower.at.y});
  }
  // The head rests on the tower: ISO 4762, M4 head 7 mm (7.22 knurled).
  CHECK(nominal(*feature_of(p, "tower-1"), "diameter") >= 7.22);
}

TEST_CASE("drill template: pilot holes at the kit's own holes, and bars of 100 and 50 mm both ways") {
  const Part p = only(R"({"id": "t", "family": "drill_template"})");
  CHECK(middle_of(p, "pilot-front-right").x - middle_of(p, "pilot-front-left").x == 196);
  CHECK(middle_of(p, "pilot-rear-left").y - middle_of(p, "pilot-front-left").y == 150);
  for (const char* id : {"check-100-x", "check-100-y"}) CHECK(nominal(*feature_of(p, id), "length") == 100);
  for (const char* id : {"check-50-x", "check-50-y"}) CHECK(nominal(*feature_of(p, id), "length") == 50);
  const Part mounts = only(R"({"id": "t", "family": "drill_template", "pattern": "mounts"})");
  CHECK(middle_of(mounts, "pilot-rear-left").y - middle_of(mounts, "pilot-front-left").y == 176);
  const Part small = only(R"({"id": "t", "family": "drill_template", "pattern": "mounts"})",
                          {{"/frame/bed_mounts/pitch_mm", "[60, 60]"}});
  CHECK_FALSE(feature_of(small, "check-100-x"));
  CHECK(states(small, "no room for check-100-x"));
}

TEST_CASE("proof piece: a hollow square with walls of whole printed lines") {
  const Part p = only(R"({"id": "p", "family": "proof_piece", "side_mm": 40, "lines": 2})");
  const std::vector<Loop>& tower = feature_of(p, "tower")->profile;
  REQUIRE(tower.size() == 2);
  // Two lines of 0.45: area of the ring is 40^2 - 38.2^2.
  CHECK(area(tower[0]) - area(tower[1]) == Approx(1600 - 38.2 * 38.2));
  CHECK(build_solid(p).triangles.size() > 20);
}
