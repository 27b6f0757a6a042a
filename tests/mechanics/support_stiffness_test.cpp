#include "mechanics/support_stiffness.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "parts/support.h"
#include "solid/build.h"

using namespace parts_test;

namespace {

Kit light_kit(const std::string& more = "", const std::vector<Setting>& settings = {}) {
  return kit_with_part(R"({"id": "light", "family": "support_plate")" + more + "}", settings);
}

Stiffness of(const Kit& kit) {
  const Layout layout = settle(kit);
  return support_stiffness(kit, layout, parts_of(kit).front());
}

double mesh_volume(const Mesh& mesh) {
  double v = 0;
  for (const auto& t : mesh.triangles)
    v += dot(mesh.vertices[t[0]], cross(mesh.vertices[t[1]], mesh.vertices[t[2]])) / 6;
  return v;
}

}  // namespace

TEST_CASE("support stiffness: the model weighs what the solid weighs", "[plate]") {
  // Without marks and standoffs the cells hold all straight-sided material; the round holes are left out of the model,
  // and so is the rounding of corners: a few per cent.
  const Kit kit = light_kit(R"(, "mark": false, "standoff_mm": 13.2)");
  const double solid = mesh_volume(build_solid(parts_of(kit).front())) * 1.075e-3;  // ASA
  CHECK(of(kit).mass_g == Approx(solid).epsilon(0.06));
}

TEST_CASE("support stiffness: a grid twice as fine changes little", "[plate]") {
  const Part part = parts_of(light_kit(R"(, "mark": false)")).front();
  double sag[2];
  for (int i = 0; i < 2; ++i) {
    PlateModel model = plate_model_of(part, 2000, printed_poisson, 1.075, 30);
    if (i == 1) model = refined(model, 2);
    for (const double x : {-75.0, 75.0})
      for (const double y : {-45.0, 45.0}) model.supports.push_back({{x + 3, y + 1}, 0});
    model.forces = {{{88, 88}, 5}};
    sag[i] = deflection_at(model, sag_of(model), {88, 88});
  }
  CHECK(sag[0] == Approx(sag[1]).epsilon(stiffness_grid_error));
}

TEST_CASE("support stiffness: higher ribs, smaller sag, by about the third power", "[plate]") {
  const Stiffness low = of(light_kit(R"(, "rib_height_mm": 6, "standoff_mm": 24)"));
  const Stiffness high = of(light_kit(R"(, "rib_height_mm": 16, "standoff_mm": 24)"));
  CHECK(high.load_sag_mm < low.load_sag_mm / 3);
  CHECK(high.first_hz > low.first_hz);
  CHECK(high.mass_g > low.mass_g);
}

TEST_CASE("support stiffness: twice the load gives twice the sag, a heavier bed rings lower", "[plate]") {
  const Stiffness one = of(light_kit(R"(, "load_g": 400)")), two = of(light_kit(R"(, "load_g": 800)"));
  CHECK(two.load_sag_mm == Approx(2 * one.load_sag_mm).epsilon(1e-9));
  const Stiffness heavy = of(light_kit("", {{"/bed/mass_g", "1560"}}));
  CHECK(heavy.first_hz < of(light_kit()).first_hz);
}

// A corner of the sheet beyond its support is an overhang: it must sag more than a strip of the same width would as a
// cantilever held along the line of the supports, and less than ten times that (the line itself gives).
TEST_CASE("support stiffness: the steel sheet sags as beams of its kind do", "[plate]") {
  const Kit kit = light_kit();
  const Layout layout = settle(kit);
  const Stiffness sheet = sheet_stiffness(kit, layout, 500);
  CHECK(sheet.mass_g == 610);  // the kit's own
  // Steel 2 mm against printed 5 mm with ribs: stiffer material, thinner plate; both small.
  CHECK(sheet.load_sag_mm > 0);
  CHECK(sheet.load_sag_mm < 0.2);
  const Stiffness thick = sheet_stiffness(light_kit("", {{"/frame/sheet_thickness_mm", "4"}}), layout, 500);
  // D goes with the cube of the thickness.
  CHECK(sheet.load_sag_mm == Approx(8 * thick.load_sag_mm).epsilon(1e-3));
}

TEST_CASE("support stiffness: findings state both plates, the gain, and where it is too soft or too heavy", "[plate]") {
  const auto findings_of = [](const Kit& kit) {
    const Layout layout = settle(kit);
    const std::vector<Part> parts = parts_of(kit);
    std::vector<const Part*> list;
    for (const Part& p : parts) list.push_back(&p);
    return stiffness_findings(kit, layout, list, std::vector<double>(list.size(), 210));
  };
  const std::vector<Finding> good = findings_of(light_kit(R"(, "rib_height_mm": 14, "standoff_mm": 24)"));
  REQUIRE(good.size() == 1);
  CHECK(good[0].code == "support-stiffness");
  // north-bench moves 1650 g before; 610 - 210 = 400 less: sqrt(1650 / 1250).
  CHECK(good[0].message.find("400 g less") != std::string::npos);
  CHECK(good[0].message.find("1.149 times") != std::string::npos);
  std::vector<std::string> codes;
  for (const Finding& f : findings_of(light_kit(
           R"(, "thickness_mm": 2.1, "rib_height_mm": 1, "ribs": [1, 1], "load_g": 4000, "weight_limit_g": 200)")))
    codes.push_back(f.code);
  CHECK(codes == std::vector<std::string>{"support-stiffness", "support-sag", "support-heavy"});
  CHECK(findings_of(
            kit_with_part(R"({"id": "s", "family": "spacer", "thickness_mm": 8, "outer_mm": 14, "hole_mm": 4.5})"))
            .empty());
}
