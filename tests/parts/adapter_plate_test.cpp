// Adapter plates: what the kit asks for is in the features, and what cannot be is refused by name with a number.
#include "parts/adapter_plate.h"

#include <catch2/catch.hpp>

#include "base/error.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/support.h"

using namespace parts_test;

namespace {

std::vector<Part> plates(const std::vector<Setting>& settings = {}) {
  return of_family(parts_of(demo_kit("north-bench", settings)), "adapter_plate");
}

/// The refusal's code and remedy, or "built".
std::pair<std::string, std::string> refusal(const std::vector<Setting>& settings) {
  try {
    plates(settings);
  } catch (const CannotBuild& e) {
    return {e.code, e.remedy};
  }
  return {"built", ""};
}

}  // namespace

TEST_CASE("plate: holes are the standard's and lie on the carriage's pattern and under the frame's holes") {
  for (const Part& p : plates()) {
    // ISO 273 medium: 3.4 for M3, 4.5 for M4. Mini 12 short: 20 across, 15 along (common practice, no source).
    const Vec2 at[4] = {{-10, -7.5}, {10, -7.5}, {-10, 7.5}, {10, 7.5}};
    for (int i = 0; i < 4; ++i) {
      const Feature* hole = feature_of(p, "carriage-hole-" + std::to_string(i + 1));
      REQUIRE(hole);
      CHECK(hole->kind == FeatureKind::slot);
      CHECK(nominal(*hole, "width") == 3.4);
      CHECK(nominal(*hole, "length") == Approx(4.4));
      CHECK(nominal(*hole, "x") == Approx(at[i].x));
      CHECK(nominal(*hole, "y") == Approx(at[i].y));
      const Feature* head = feature_of(p, "counterbore-" + std::to_string(i + 1));
      REQUIRE(head);
      CHECK(nominal(*head, "width") == 6.5);  // DIN 974-1 row 1 for M3
    }
    const Feature* frame = feature_of(p, "frame-hole-" + p.placements.front());
    REQUIRE(frame);
    CHECK(nominal(*frame, "diameter") == 4.5);
    // Holes at 196 / 2, 150 / 2; carriages at 150 / 2, 90 / 2.
    CHECK(std::fabs(nominal(*frame, "x")) == Approx(23));
    CHECK(std::fabs(nominal(*frame, "y")) == Approx(30));
  }
}

TEST_CASE("plate: heads end below the seat everywhere and a stock screw holds with room to spare") {
  const CapScrew& screw = *find_cap_screw("M3");
  for (const char* kit_name : {"north-bench", "tall-bench", "south-bench"}) {
    CAPTURE(kit_name);
    double floor = -1;
    for (const Part& p : of_family(parts_of(demo_kit(kit_name)), "adapter_plate"))
      for (const Feature& f : p.features) {
        if (f.kind != FeatureKind::counterbore && f.kind != FeatureKind::counterbore_slot) continue;
        if (floor < 0) floor = f.from.z_mm;
        CHECK(f.from.z_mm == floor);  // one floor for all
        CHECK(f.from.z_mm >= 1.6);
        Loop footprint = f.profile.front();
        footprint.facets = Facets::inside;
        for (Vec2 at : polygonised(footprint, 1e-4))
          CHECK(height_at(p.seat, at) - (f.from.z_mm + screw.head_height_mm) >= 0.3 - 1e-4);
      }
    REQUIRE(floor > 0);
  }
}

TEST_CASE("plate: a screw is picked with five pitches of thread and a free tip") {
  Anchor m3;
  m3.kind = "carriage";
  m3.depth_mm = 3.5;
  m3.blind = true;
  Anchor shallow = m3;
  shallow.depth_mm = 2.7;
  const JointRules rules;
  const auto pick = pick_screw("M3", m3, rules, 1.6, 4);
  REQUIRE(pick);
  // L - G <= 3.5 - 0.3 with the layer settled by 1 %, L - G >= 2.5 (common practice, no source).
  CHECK(pick->grip_greatest_mm == Approx(3.5));
  CHECK(pick->grip_least_mm == Approx(2.8 / 0.99));
  CHECK(pick->length_mm == 6);
  CHECK(pick->grip_mm == Approx(3.15));
  CHECK(pick_screw("M3", m3, rules, 1.6, 2.7)->length_mm == 5);
  // 2.55 lies between the windows of 5 (to 2.5) and 6 (from 2.83).
  CHECK_FALSE(pick_screw("M3", m3, rules, 2.55, 2.8));
  CHECK_FALSE(pick_screw("M3", shallow, rules, 1.6, 20));  // 2.4 mm free way for 2.5 mm of thread
  for (double most = 1.9; most < 30; most += 0.37)
    if (const auto p = pick_screw("M3", m3, rules, 1.6, most)) {
      CHECK(p->length_mm - p->grip_mm >= 2.5 - 1e-9);
      CHECK(p->length_mm - 0.99 * p->grip_mm <= 3.2 + 1e-9);
      CHECK(p->grip_mm <= most + 1e-9);
    }
}

TEST_CASE("plate: the insert sits at the end away from the sheet, in a boss on the side that is asked for") {
  const InsertSize& insert = *find_insert("m4-standard");
  for (const Part& p : plates()) {
    const Feature* boss = feature_of(p, "boss-" + p.placements.front());
    const Feature* pocket = feature_of(p, "insert-" + p.placements.front());
    REQUIRE(boss);
    REQUIRE(pocket);
    CHECK(boss->from.z_mm == -4);
    CHECK(boss->to.z_mm == 0);
    CHECK(pocket->at.z == -4);
    CHECK(pocket->axis == Vec3{0, 0, -1});
    CHECK(nominal(*pocket, "depth") == Approx(insert.length_mm + 1));
    CHECK(nominal(*pocket, "diameter") == insert.hole_mm);
  }
  for (const Part& p : plates({{"/parts/0/boss_side", "up"}})) {
    const Feature* boss = feature_of(p, "boss-" + p.placements.front());
    const Feature* pocket = feature_of(p, "insert-" + p.placements.front());
    REQUIRE(boss);
    REQUIRE(pocket);
    CHECK(boss->from.z_mm == Approx(2));  // 6 in all, 4 of it boss
    CHECK(boss->to.kind == Bound::Kind::seat);
    CHECK(p.features.front().to.z_mm == Approx(2));
    CHECK(pocket->at.z == 0);
    CHECK(nominal(*pocket, "depth") >= insert.length_mm + 0.3);
    const Loop over = circle_loop({pocket->at.x, pocket->at.y}, insert.hole_mm / 2, Facets::inside);
    CHECK(heights_over(p.seat, {over}).least - pocket->to.z_mm >= 0.4 - 1e-9);
    CHECK(find_dimension(*feature_of(p, "seat"), "thickness")->nominal_mm == Approx(6).margin(1e-9));
  }
}

TEST_CASE("plate: pads stand on a flat top and the thickness is measured on them") {
  for (const Part& p : plates({{"/parts/0/seat", "pads"}})) {
    const Feature* pad = feature_of(p, "pad-1");
    REQUIRE(pad);
    CHECK(pad->to.kind == Bound::Kind::seat);
    CHECK(pad->from.z_mm == p.features.front().to.z_mm);
    CHECK(nominal(*feature_of(p, "seat"), "thickness") == Approx(6).margin(1e-9));
  }
}

TEST_CASE("plate: the printer's compensation changes what is modelled and not what is nominal") {
  const std::vector<Part> plain = plates();
  const std::vector<Part> fitted =
      plates({{"/printer/compensation/hole_mm", "0.15"}, {"/printer/compensation/outline_mm", "-0.1"}});
  REQUIRE(plain.size() == fitted.size());
  for (std::size_t i = 0; i < plain.size(); ++i)
    for (const Feature& f : fitted[i].features) {
      if (f.kind == FeatureKind::mark) continue;
      const Feature* before = feature_of(plain[i], f.id);
      REQUIRE(before);
      for (const Dimension& d : f.dimensions) {
        const bool hole =
            f.effect == Effect::cut && (d.quantity == "diameter" || d.quantity == "width" || d.quantity == "length");
        const bool outer =
            f.effect == Effect::add && (d.quantity == "diameter" || d.quantity == "width" || d.quantity == "length");
        CAPTURE(f.id, d.quantity);
        if (d.quantity != "floor") CHECK(d.nominal_mm == Approx(nominal(*before, d.quantity)).margin(1e-9));
        if (d.quantity == "thickness" || d.quantity == "floor") continue;  // follow the smaller outline, wider heads
        CHECK(d.modelled_mm - d.nominal_mm == Approx(hole ? 0.15 : outer ? -0.1 : 0).margin(1e-9));
      }
      if (f.kind == FeatureKind::insert_pocket)
        CHECK(2 * f.profile.front().radius == Approx(modelled(f, "diameter")).margin(1e-12));
    }
}

TEST_CASE("plate: slots lie along the axis that is asked for") {
  for (const char* axis : {"x", "y"}) {
    const std::vector<Part> p = plates({{"/parts/0/slot_mm", "2"}, {"/parts/0/slot_axis", axis}});
    const PlaneBox box = bounding_box(feature_of(p[0], "carriage-hole-1")->profile.front());
    const double x = box.high.x - box.low.x, y = box.high.y - box.low.y;
    CHECK((axis[0] == 'x' ? x : y) == Approx(5.4));
    CHECK((axis[0] == 'x' ? y : x) == Approx(3.4));
  }
  for (const Part& p : plates({{"/parts/0/slot_mm", "0"}})) CHECK(count_of(p, FeatureKind::slot) == 0);
}

TEST_CASE("plate: what cannot be is refused by name and the remedy's number is enough") {
  CHECK(refusal({}).first == "built");
  const auto thin = refusal({{"/parts/0/thickness_mm", "3"}});
  CHECK(thin.first == "counterbore-too-deep");
  CHECK(thin.second.find("thickness_mm at least") != std::string::npos);
  const auto number_in = [](const std::string& text) {
    return text.substr(text.find("least ") + 6, text.find_first_of(",", text.find("least ")) - text.find("least ") - 6);
  };
  // Following remedy after remedy ends in a plate.
  std::string thickness = "2.5";
  std::string code;
  for (int i = 0; i < 4 && code != "built"; ++i) {
    const auto r = refusal({{"/parts/0/thickness_mm", thickness}, {"/parts/0/boss_height_mm", "6"}});
    code = r.first;
    if (code != "built") thickness = number_in(r.second);
  }
  CHECK(code == "built");
  CHECK(std::stod(thickness) < 6);

  const auto shallow = refusal({{"/parts/0/boss_height_mm", "0"}, {"/parts/0/thickness_mm", "5.2"}});
  CHECK(shallow.first == "insert-too-long");
  CHECK(shallow.second.find("boss_height_mm at least") != std::string::npos);
  CHECK(refusal({{"/parts/0/boss_side", "up"}, {"/parts/0/boss_height_mm", "5"}}).first == "top-too-low");
  CHECK(refusal({{"/parts/0/boss_diameter_mm", "6.5"}}).first == "boss-too-thin");
  // Frame holes over the carriages, whose bosses would hang into them.
  const std::vector<Setting> over = {{"/frame/hole_pattern/pitch_mm", "[150, 110]"}};
  CHECK(refusal(over).first == "boss-meets-carriage");
}

TEST_CASE("plate: each refusal comes where its closed form says, and not just before it") {
  struct Edge {
    const char* code;
    std::vector<Setting> refused, built;
  };
  const std::vector<Edge> edges = {
      // Wall round the insert's hole of 5.6: 0.8 at the least.
      {"boss-too-thin", {{"/parts/0/boss_diameter_mm", "7.1"}}, {{"/parts/0/boss_diameter_mm", "7.3"}}},
      // The boss of 10 under a hole beside the carriage of 27: 13.5 + 5 + 0.2 from its middle, the rails 150 apart.
      {"boss-meets-carriage",
       {{"/frame/hole_pattern/pitch_mm", "[187.3, 90]"}},
       {{"/frame/hole_pattern/pitch_mm", "[187.5, 90]"}}},
      // Plate under bosses up: 6 less their height, 1.6 at the least; 5 long grips from 1.8 / 0.99.
      {"top-too-low",
       {{"/parts/0/boss_side", "up"}, {"/parts/0/boss_height_mm", "4.5"}},
       {{"/parts/0/boss_side", "up"}, {"/parts/0/boss_height_mm", "4.1"}}},
      // 2.5 of thread with 0.3 free ahead of the tip, and 1 % of the grip (2.5 at L = 5) that may settle: 2.825.
      {"no-screw-length", {{"/carriages/thread_depth_mm", "2.8"}}, {{"/carriages/thread_depth_mm", "2.9"}}},
  };
  for (const Edge& edge : edges) {
    CAPTURE(edge.code);
    CHECK(refusal(edge.refused).first == edge.code);
    CHECK_FALSE(refusal(edge.refused).second.empty());
    CHECK(refusal(edge.built).first == "built");
  }
}

TEST_CASE("plate: the floor under the heads by hand") {
  // Sagitta r^2 / 2R. The plate's farthest point from the apex is its pad's edge at sqrt(98^2 + 75^2) + 6.8 = 130.2 mm,
  // a head's at sqrt(85^2 + 52.5^2) + 3.75 = 103.7 mm: the seat is 6 + 1.2 there, less a head of 3.0 and 0.3 of cover
  // leaves 3.9. Of M3 in 3.5 mm of thread, 6 long grips 2.83 to 3.5, 8 long 4.85 and more: middle of the former, to
  // 0.05.
  for (const Part& p : plates())
    for (int i = 1; i <= 4; ++i) CHECK(feature_of(p, "counterbore-" + std::to_string(i))->from.z_mm == Approx(3.15));
}

TEST_CASE("plate: thickness that another corner decides is stated where it is more") {
  const std::vector<Part> p = plates({{"/frame/dome/apex_mm", "[20, 5]"}});
  int more = 0;
  double least = 1e9;
  for (const Part& part : p) {
    const double t = nominal(*feature_of(part, "seat"), "thickness");
    least = std::min(least, t);
    if (t > 6.001) {
      ++more;
      CHECK(states(part, "share one height"));
    }
  }
  CHECK(least == Approx(6).margin(1e-9));
  CHECK(more == 3);
}

TEST_CASE("parts: a kit that no reader looked at is refused at what is in no table") {
  Kit kit = demo_kit("north-bench");
  kit.parts[0].family = "bracket";
  CHECK_THROWS_WITH(parts_of(kit), Catch::Contains("/parts/0/family: no such part family"));
  kit = demo_kit("north-bench");
  kit.parts[0].settings["insert"] = "m9-standard";
  CHECK_THROWS_WITH(parts_of(kit), Catch::Contains("/parts/0/insert: the insert \"m9-standard\" is in no table"));
}
