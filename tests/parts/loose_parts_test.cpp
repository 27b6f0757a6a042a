// Spacers and shims: heights with the printer's compensation, whole layers, notches, tapers, seats on the frame.
#include <catch2/catch.hpp>

#include "base/error.h"
#include "parts/shim.h"
#include "parts/spacer.h"
#include "parts/support.h"

using namespace parts_test;

namespace {

Part only(const std::string& json, const std::vector<Setting>& more = {}) {
  const std::vector<Part> parts = parts_of(kit_with_part(json, more));
  REQUIRE(parts.size() == 1);
  return parts.front();
}

PrinterProfile printer(double first, double layer) {
  PrinterProfile p;
  p.first_layer_mm = first;
  p.layer_mm = layer;
  return p;
}

const char* ring = R"({"id": "shim", "family": "shim", "thickness_mm": 0.6, "outer_mm": 24, "hole_mm": 4.5})";

}  // namespace

TEST_CASE("shim: whole layers are one first layer and equal ones upon it") {
  // n layers give first + (n - 1) layer: arithmetic.
  const WholeLayers exact = nearest_whole_layers(0.65, printer(0.25, 0.2));
  CHECK(exact.below_mm == exact.above_mm);
  CHECK(exact.layers_below == 3);
  const WholeLayers between = nearest_whole_layers(0.5, printer(0.25, 0.2));
  CHECK(between.below_mm == Approx(0.45));
  CHECK(between.above_mm == Approx(0.65));
  CHECK(between.layers_below == 2);
  const WholeLayers thin = nearest_whole_layers(0.1, printer(0.25, 0.2));
  CHECK(thin.layers_below == 0);
  CHECK(thin.above_mm == Approx(0.25));
  for (int n = 1; n < 200; ++n) {
    const WholeLayers w = nearest_whole_layers(0.28 + (n - 1) * 0.12, printer(0.28, 0.12));
    CHECK(w.layers_below == n);
    CHECK(w.below_mm == w.above_mm);
  }
}

TEST_CASE("shim: a thickness that is not whole layers names the two nearest that are") {
  CHECK(states(only(ring), "3 layers"));
  const Part odd = only(R"({"id": "shim", "family": "shim", "thickness_mm": 0.5, "outer_mm": 24, "hole_mm": 4.5})");
  CHECK(states(odd, "not a whole number of layers"));
  CHECK(states(odd, "0.4 or 0.6 mm"));
}

TEST_CASE("shim: height compensation is in the file and not in the nominal thickness") {
  const Part p = only(ring, {{"/printer/compensation/height_mm", "0.05"}});
  const Feature& body = p.features.front();
  CHECK(nominal(body, "thickness") == 0.6);
  CHECK(modelled(body, "thickness") == Approx(0.65));
  CHECK(body.to.z_mm == Approx(0.65));
  // 0.65 is no whole number of layers of 0.2: what comes out measures 0.05 less than is sliced.
  CHECK(states(p, "0.55 or 0.75 mm"));
}

TEST_CASE("shim: notches on the edge are as many as layers and apart enough for a finger") {
  for (int layers = 1; layers <= 8; ++layers) {
    const double thickness = 0.2 * layers;
    const Part p = only(R"({"id": "shim", "family": "shim", "outer_mm": 24, "hole_mm": 4.5, "thickness_mm": )" +
                        std::to_string(thickness) + "}");
    CHECK(count_of(p, FeatureKind::notch) == layers);
    std::vector<Vec2> at;
    for (const Feature& f : p.features)
      if (f.kind == FeatureKind::notch) at.push_back(f.profile.front().centre);
    for (std::size_t i = 0; i < at.size(); ++i) {
      CHECK(length(at[i]) == Approx(12).margin(1e-9));  // centred on the edge
      for (std::size_t j = i + 1; j < at.size(); ++j) CHECK(length(at[i] - at[j]) > 2 * 0.7 + 0.8);
    }
  }
  const Part thick = only(R"({"id": "shim", "family": "shim", "thickness_mm": 2, "outer_mm": 24, "hole_mm": 4.5})");
  CHECK(count_of(thick, FeatureKind::notch) == 0);
  CHECK(states(thick, "no notches"));
  const Part none = only(
      R"({"id": "shim", "family": "shim", "thickness_mm": 0.6, "outer_mm": 24, "hole_mm": 4.5, "notches": false})");
  CHECK(count_of(none, FeatureKind::notch) == 0);
}

TEST_CASE("shim: a carriage shim has the carriage's face and its screw pattern") {
  const Part p = only(R"({"id": "shim", "family": "shim", "thickness_mm": 0.4, "outline": "carriage"})");
  CHECK(nominal(p.features.front(), "length") == 27);
  CHECK(nominal(p.features.front(), "width") == 34.8);
  CHECK(count_of(p, FeatureKind::clearance_hole) == 4);
  CHECK(nominal(*feature_of(p, "hole-4"), "x") == 10);
  CHECK(nominal(*feature_of(p, "hole-4"), "y") == 7.5);
  CHECK(nominal(*feature_of(p, "hole-4"), "diameter") == 3.4);  // ISO 273 medium, M3
}

TEST_CASE("shim: a taper is thicker where it says, by as much as it says, and as stated at the centre") {
  for (const double deg : {0., 90., 210.}) {
    const Part p = only(
        R"({"id": "shim", "family": "shim", "thickness_mm": 1, "outline": "rectangle", "size_mm": [30, 20], "taper_um_per_mm": 10, "taper_toward_deg": )" +
        std::to_string(deg) + "}");
    const Vec2 toward{std::cos(deg * rad_per_deg), std::sin(deg * rad_per_deg)};
    CHECK(height_at(p.seat, {0, 0}) == Approx(1));
    CHECK(height_at(p.seat, 10.0 * toward) == Approx(1.1).margin(1e-12));
    CHECK(height_at(p.seat, Vec2{-10 * toward.y, 10 * toward.x}) == Approx(1).margin(1e-12));
    CHECK(p.features.front().to.kind == Bound::Kind::seat);
  }
  // 20 um over each of 15 mm takes 0.3 off one edge.
  const char* steep =
      R"({"id": "shim", "family": "shim", "thickness_mm": 0.4, "outline": "rectangle", "size_mm": [30, 20], "taper_um_per_mm": 20})";
  try {
    only(steep);
    FAIL("a shim that tapers to 0.1 mm was built");
  } catch (const CannotBuild& e) {
    CHECK(e.code == "shim-too-thin");
    CHECK(e.remedy.find("0.5") != std::string::npos);  // 0.2 + 0.3
  }
}

TEST_CASE("shim: a horseshoe slips over its screw from the front and is held at the back") {
  for (const double compensation : {0.0, 0.12}) {
    const Part p = only(
        R"({"id": "shim", "family": "shim", "thickness_mm": 0.4, "outline": "horseshoe", "outer_mm": 14, "hole_mm": 4.5})",
        {{"/printer/compensation/hole_mm", std::to_string(compensation)}});
    const Feature* opening = feature_of(p, "hole");
    REQUIRE(opening);
    REQUIRE(opening->profile.size() == 1);
    const Loop& loop = opening->profile.front();
    CHECK(opening->effect == Effect::cut);
    const double radius = (4.5 + compensation) / 2;
    double narrowest = 1e9;
    for (double y = -7.5; y <= 0; y += 0.05) {
      REQUIRE(contains(loop, {0, y}));
      narrowest = std::min(narrowest, distance(loop, {0, y}));
    }
    CHECK(narrowest == Approx(radius).margin(1e-9));  // such a pin passes, and none that is larger
    CHECK_FALSE(contains(loop, {0, radius + 0.01}));  // behind the screw is material
    CHECK(bounding_box(loop).low.y < -7);
    // No notch weakens the legs: all are on the rear half, two lines of wall away from the opening.
    for (const Feature& f : p.features)
      if (f.kind == FeatureKind::notch && f.id != "hole") {
        CHECK(f.profile.front().centre.y > 0);
        CHECK(distance(loop, f.profile.front().centre) >= 0.7 + 0.8);
      }
  }
}

TEST_CASE("shim: a rectangle has its size, its hole in the middle and its notches along the rear edge") {
  const Part p = only(
      R"({"id": "shim", "family": "shim", "thickness_mm": 0.6, "outline": "rectangle", "size_mm": [30, 20], "hole_mm": 5.5})",
      {{"/printer/compensation/outline_mm", "-0.1"}});
  CHECK(nominal(p.features.front(), "length") == 30);
  CHECK(modelled(p.features.front(), "length") == Approx(29.9));
  CHECK(nominal(p.features.front(), "width") == 20);
  CHECK(nominal(*feature_of(p, "hole"), "diameter") == 5.5);
  CHECK(nominal(*feature_of(p, "hole"), "x") == 0);
  REQUIRE(count_of(p, FeatureKind::notch) == 3);  // 0.6 = 3 layers of 0.2
  for (const Feature& f : p.features)
    if (f.kind == FeatureKind::notch) CHECK(f.profile.front().centre.y == Approx(9.95));
}

TEST_CASE("shim: the thin end of a taper is its measured thickness, and just enough is built") {
  // Least over 30 mm at 10 um a mm: 1 - 0.15. Height compensation is on top of it in the file only.
  const std::string wedge =
      R"({"id": "shim", "family": "shim", "outline": "rectangle", "size_mm": [30, 20], "corner_radius_mm": 0, "taper_um_per_mm": 10, "thickness_mm": )";
  const Part p = only(wedge + "1}", {{"/printer/compensation/height_mm", "0.03"}});
  CHECK(nominal(*feature_of(p, "seat"), "thickness") == Approx(0.85).margin(1e-9));
  CHECK(modelled(*feature_of(p, "seat"), "thickness") == Approx(0.88).margin(1e-9));
  CHECK_NOTHROW(only(wedge + "0.36}"));                 // 0.21 at the thin end, the first layer is 0.2
  CHECK_THROWS_AS(only(wedge + "0.34}"), CannotBuild);  // 0.19
}

TEST_CASE("spacer: flat ones are as high as asked and have the holes asked for") {
  const Part p = only(
      R"({"id": "foot", "family": "spacer", "thickness_mm": 8, "shape": "rectangular", "size_mm": [40, 24], "holes": [{"at_mm": [-12, 0], "diameter_mm": 4.5}, {"at_mm": [12, 3], "diameter_mm": 5.5}], "quantity": 3})");
  CHECK(p.quantity == 3);
  CHECK(nominal(p.features.front(), "thickness") == 8);
  CHECK(nominal(p.features.front(), "length") == 40);
  CHECK(nominal(p.features.front(), "width") == 24);
  CHECK(nominal(*feature_of(p, "hole-2"), "y") == 3);
  CHECK(nominal(*feature_of(p, "hole-2"), "diameter") == 5.5);
  // The holes do not take the text's room away: it is a body of 40 by 24.
  CHECK(p.id == "foot");
  CHECK(p.placements.empty());
}

TEST_CASE("spacer: one that follows the frame is parallel to the sheet and least where it should be") {
  const Kit kit = kit_with_part(
      R"({"id": "post", "family": "spacer", "thickness_mm": 8, "outer_mm": 20, "hole_mm": 4.5, "seat": "frame", "placements": ["front-left", "rear-right"]})");
  const Layout layout = settle(kit);
  const std::vector<Part> parts = derive_parts(kit, layout);
  REQUIRE(parts.size() == 1);  // opposite corners of a centred dome: the same, turned
  CHECK(parts[0].id == "post-a");
  CHECK(parts[0].quantity == 2);
  const Part& p = parts[0];
  double least = 1e9, greatest_change = 0;
  const double offset = height_at(layout.underside, layout.placements[0].at) - height_at(p.seat, {0, 0});
  for (int i = 0; i < 360; ++i) {
    const Vec2 at{10 * std::cos(i * rad_per_deg), 10 * std::sin(i * rad_per_deg)};
    least = std::min(least, height_at(p.seat, at));
    const double there = height_at(layout.underside, layout.placements[0].at + at);
    greatest_change = std::max(greatest_change, std::fabs(there - height_at(p.seat, at) - offset));
  }
  CHECK(least ==
        Approx(8).margin(1e-4));  // whole degrees miss the lowest point by 10 mm * (0.5 deg)^2 / 2 of slope 0.03
  CHECK(greatest_change < 1e-12);
  const std::vector<Part> four = parts_of(kit_with_part(
      R"({"id": "post", "family": "spacer", "thickness_mm": 8, "outer_mm": 20, "hole_mm": 4.5, "seat": "frame", "placements": ["front-left", "front-right", "rear-left", "rear-right"]})"));
  REQUIRE(four.size() == 2);
  CHECK(four[1].mirror_of == "post-a");
}

TEST_CASE("shim: a hole out of the middle leaves a tab, and the label follows the thickness on it") {
  const char* tab = R"({"id": "shim", "family": "shim", "thickness_mm": 0.6, "outline": "rectangle", "size_mm": [64, 18],
      "hole_mm": 4.5, "hole_at_mm": [-23, 0], "label": ["FL", "3L", "2026-11-25"]})";
  const Part p = only(tab);
  REQUIRE(feature_of(p, "hole"));
  CHECK(feature_of(p, "hole")->at.x == -23);
  CHECK(p.mark_text == "0.6 FL 3L 2026-11-25");
  CHECK(count_of(p, FeatureKind::mark) >= 1);
  // Too thin for letters: said, not passed over.
  const Part thin = only(tab, {{"/parts/0/thickness_mm", "0.2"}});
  CHECK(thin.mark_text.empty());
  CHECK(states(thin, "write \"0.2 FL 3L 2026-11-25\" on it"));
  CHECK_THROWS_AS(only(tab, {{"/parts/0/label", "[\"a b\"]"}}), BadInput);
}
