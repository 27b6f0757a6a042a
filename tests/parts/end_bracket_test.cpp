// The end bracket: follows the base, carries the rails as a spring of known stiffness, prints without support, and its
// file measures as drawn.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "checks/interference.h"
#include "gauge/compare.h"
#include "gauge/gauge.h"
#include "gauge/read_mesh.h"
#include "kit/hardware.h"
#include "layout/base_profile.h"
#include "layout/bracket_plan.h"
#include "layout/rail_line.h"
#include "mechanics/plate_model.h"
#include "mechanics/rail_beam.h"
#include "output/make_set.h"
#include "output/write_stl.h"
#include "parts/part_joints.h"
#include "parts/support.h"
#include "print/pose.h"
#include "print/undersides.h"
#include "solid/build.h"

using namespace parts_test;

namespace {

Kit whole(const std::vector<Setting>& settings = {}) {
  return demo_kit("whole-bench", settings);
}

/// The kit with one bracket only, given as JSON text.
Kit with_bracket(const std::string& bracket, std::vector<Setting> more = {}) {
  more.insert(more.begin(), {"/parts", "[" + bracket + "]"});
  return whole(more);
}

const char* plain = R"({"id": "end", "family": "end_bracket", "end": "rear"})";

std::string screwed(const std::string& screw, const std::string& more = "") {
  return R"({"id": "end", "family": "end_bracket", "end": "rear", "screws": [)" + screw + "]" + more + "}";
}

const char* rear_screw = R"({"id": "a", "along": "y", "at_mm": [30, -6], "screw": "M4",
    "anchor": {"kind": "tapped", "depth_mm": 10, "blind": true}, "also_holds": "none"})";

std::string refusal(const Kit& kit) {
  try {
    for (const Part& p : parts_of(kit)) build_solid(p);
  } catch (const CannotBuild& error) {
    return error.code;
  }
  return "";
}

const Feature* find(const Part& part, const std::string& id) {
  for (const Feature& f : part.features)
    if (f.id == id) return &f;
  return nullptr;
}

BracketPlan plan_of(const Kit& kit) {
  return bracket_plan(kit, settle(kit), kit.parts.front());
}

}  // namespace

TEST_CASE("end bracket: every part of the whole conversion prints without support") {
  const Kit kit = whole();
  int brackets = 0;
  for (const Part& part : parts_of(kit)) {
    if (part.family != "end_bracket") continue;
    ++brackets;
    const MadePart made = make_part(kit, part);
    INFO(part.id);
    CHECK(made.report.pose.way == Way::as_installed);
    // Of the written file, as it lies: nothing hangs over, and nothing even bridges.
    const Mesh file = read_stl(made.bytes, part.id);
    const Undersides under = undersides_of(measure(file).mesh, kit.printer.wishes);
    CHECK(under.overhang_mm2 == 0);
    CHECK(under.bridge_mm2 == 0);
    CHECK(made.report.mesh.self_intersections == 0);
    CHECK(made.report.mesh.closed);
    CHECK(made.report.mesh.least_height_mm >= least_height_mm);
  }
  CHECK(brackets == 3);
}

TEST_CASE("end bracket: a hole with its point the wrong way up hangs over, and the overhang measure says so") {
  const Kit kit = with_bracket(screwed(rear_screw, R"(, "height_mm": 16)"));
  Part part = parts_of(kit).front();
  const auto over = [&](const Part& p) {
    const Pose pose = choose_pose(p, build_solid(p), kit.printer);
    const Undersides under = undersides_of(in_print_frame(build_solid(p), pose), kit.printer.wishes);
    return under.overhang_mm2 + under.bridge_mm2;
  };
  CHECK(over(part) == 0);
  for (Feature& f : part.features)
    if (f.id == "screw-a")
      f.profile = {teardrop_loop(in_plane(f.along, f.at), 2.4, {0, -1}, Facets::outside)};
  CHECK(over(part) > 50);
  // Printed the other way up, the points follow.
  const Kit turned = with_bracket(screwed(rear_screw, R"(, "pose": "upside_down", "pad_height_mm": 0, "height_mm": 16,
      "mark": false)"));
  const Part over_head = parts_of(turned).front();
  const Feature* hole = find(over_head, "screw-a");
  REQUIRE(hole);
  CHECK(bounding_box(hole->profile[0]).low.y < hole->at.z - 2.4 * 1.4);
  CHECK(over(over_head) == 0);
}

TEST_CASE("end bracket: its inner outline keeps the clearance off every step of the base") {
  const Kit kit = whole();
  for (const Part& part : parts_of(kit)) {
    if (part.family != "end_bracket") continue;
    const Mesh solid = build_solid(part);
    const double clearance = part.settings.at("clearance_mm").get<double>();
    // Every corner of the built solid, in the machine frame: none nearer to the base than the clearance less a chord.
    double nearest = 1e9;
    for (const Vec3& v : solid.vertices) {
      const Vec2 p{v.x + part.stands_at->x, v.y + part.stands_at->y};
      CHECK_FALSE(contains(kit.base->outline, p));
      nearest = std::min(nearest, distance(kit.base->outline, p));
    }
    INFO(part.id);
    CHECK(nearest == Approx(clearance).margin(0.011));
  }
}

TEST_CASE("end bracket: each dimension of the written files is measured, and within tolerance") {
  // The second time with what a printer's profile adds.
  const Kit kit = GENERATE(whole(), whole({{"/printer/compensation/outline_mm", "0.08"},
                                           {"/printer/compensation/hole_mm", "0.15"}}));
  std::vector<MadePart> made;
  for (const Part& part : parts_of(kit))
    if (part.family == "end_bracket") made.push_back(make_part(kit, part));
  for (std::size_t i = 0; i < made.size(); ++i) {
    compare_made(made, i);
    INFO(made[i].report.part.id);
    CHECK(made[i].comparison.ok);
    int points = 0;
    for (const MeasuredDimension& d : made[i].comparison.dimensions) {
      INFO(d.feature << " " << d.quantity << " modelled " << d.modelled_mm);
      REQUIRE(d.measured_mm);
      INFO("measured " << *d.measured_mm);
      CHECK(d.ok);
      points += d.quantity == "point";
    }
    CHECK(points >= 2);
  }
}

TEST_CASE("end bracket: a file with a screw hole elsewhere, or without it, is found out") {
  const Kit kit = with_bracket(screwed(rear_screw));
  const Part part = parts_of(kit).front();
  const Mesh solid = build_solid(part);
  const Part moved =
      parts_of(with_bracket(screwed(R"({"id": "a", "along": "y", "at_mm": [30.4, -6], "screw": "M4",
        "anchor": {"kind": "tapped", "depth_mm": 10, "blind": true}, "also_holds": "none"})"))).front();
  const Part bare = parts_of(with_bracket(plain, {{"/parts/0/height_mm", decimal(part.features[0].to.z_mm, 1)}})).front();
  const Comparison shifted = compare(measure(build_solid(moved)), {&part, &solid, {}}, {});
  CHECK(std::count(shifted.mistakes.begin(), shifted.mistakes.end(), "feature-moved") == 1);
  const Comparison lacking = compare(measure(build_solid(bare)), {&part, &solid, {}}, {});
  CHECK(std::count(lacking.mistakes.begin(), lacking.mistakes.end(), "feature-missing") == 1);
}

TEST_CASE("end bracket: stiffness is the cantilever's, shear included, and sets the height in whole layers") {
  // Long and thin: 3 E I / a^3 alone; short and high: shear alone, 1 / 1.2 G A / a. Strength-of-materials texts.
  CHECK(pad_stiffness_n_mm(2000, 100, 20, 2) == Approx(3 * 2000 * (20 * 8 / 12.0) / 1e6).epsilon(2e-3));
  CHECK(pad_stiffness_n_mm(2000, 1, 20, 100) == Approx(2000 / 2.7 * 20 * 100 / 1.2).epsilon(1e-3));
  const BracketPlan plan = plan_of(with_bracket(plain));
  CHECK(plan.wanted_n_mm == 2000);
  for (const BracketPad& pad : plan.pads) {
    CHECK(pad.stiffness_n_mm >= 2000);
    CHECK(pad_stiffness_n_mm(2000, pad.lever_mm, pad.width_mm, plan.height_mm - 0.2) < 2000);
  }
  const double layers = plan.height_mm / 0.2;
  CHECK(layers == Approx(std::round(layers)).margin(1e-9));
  CHECK(refusal(with_bracket(R"({"id": "end", "family": "end_bracket", "end": "rear", "height_mm": 6,
      "stiffness_n_per_mm": 2000})")) == "bracket-soft");
}

TEST_CASE("end bracket: a plate model of the whole bracket is stiffer than the cantilever, by a third at most") {
  // Kirchhoff plate clamped along the base's edge, the rail's load spread over its pad; bending alone on both sides.
  const double height = 12, modulus = 2000, pad = 20, rail = 75;
  const auto lines = [](const std::vector<double>& at, double step) {
    std::vector<double> out;
    for (std::size_t i = 0; i + 1 < at.size(); ++i) {
      const int n = std::max(1, static_cast<int>(std::ceil((at[i + 1] - at[i]) / step)));
      for (int k = 0; k < n; ++k) out.push_back(at[i] + (at[i + 1] - at[i]) * k / n);
    }
    out.push_back(at.back());
    return out;
  };
  for (const double lever : {10.0, 20.0, 25.0, 40.0})
    for (const double beside : {16.0, 45.0}) {
      PlateModel model;
      model.x_lines =
          lines({-rail - beside, -rail - pad / 2, -rail + pad / 2, rail - pad / 2, rail + pad / 2, rail + beside}, 5);
      model.y_lines = lines({0, 2 * lever, 2 * lever + 3}, 5);
      model.cells.assign((model.x_lines.size() - 1) * (model.y_lines.size() - 1),
                         {{-height / 2, height / 2, modulus, 0.35, 1.0}});
      model.front = PlateEdge::clamped;
      model.pressures = {{{rail - pad / 2, 0}, {rail + pad / 2, 2 * lever}, 1 / (pad * 2 * lever)}};
      const double plate = 1 / deflection_at(model, sag_of(model), {rail, lever});
      const double half = pad / 2 + lever, width = half + std::min(half, beside);
      const double beam = 3 * modulus * width * height * height * height / 12 / (lever * lever * lever);
      INFO("lever " << lever << ", beside " << beside);
      CHECK(beam < plate);
      CHECK(beam > plate * 2 / 3);
      CHECK(pad_stiffness_n_mm(modulus, lever, width, height) < beam);
    }
}

TEST_CASE("end bracket: its pads are springs under the rail in the beam, softer ones sag more") {
  const Kit soft = whole({{"/parts/2/stiffness_n_per_mm", "300"}}), stiff = whole({{"/parts/2/stiffness_n_per_mm", "9000"}});
  double sag[2] = {0, 0};
  int i = 0;
  for (const Kit* kit : {&soft, &stiff}) {
    const Layout layout = settle(*kit);
    const RailLine line = rail_lines(*kit, layout).front();
    REQUIRE(line.pads.size() == 2);
    CHECK(line.gaps.size() == 2);  // the clearances at both ends of the base
    CHECK(line.usable() == layout.rail_holes);
    sag[i++] = rail_bending(*kit, layout, line, 2500).sag_mm;
    // What the supports on the rear pad give together is the pad's own.
    const RailPad& pad = line.pads.back();
    double together = 0;
    for (const BeamSupport& s : rail_beam(*kit, line, 1, -45, 45).supports)
      if (s.x_mm - kit->rails.length_mm / 2 >= pad.from_mm) together += s.stiffness_n_mm;
    CHECK(together == Approx(pad.stiffness_n_mm));
    CHECK(pad.stiffness_n_mm == Approx(bracket_plan(*kit, layout, kit->parts[2]).pads[0].stiffness_n_mm));
  }
  CHECK(sag[0] > sag[1]);
  CHECK(sag[1] > 0);
}

TEST_CASE("end bracket: rails may run past it by a stated overhang") {
  const Kit kit = with_bracket(R"({"id": "end", "family": "end_bracket", "end": "rear", "overhang_mm": 15})");
  const BracketPlan plan = plan_of(kit);
  CHECK(plan.outer_mm == Approx(185 - 15));
  for (const BracketPad& pad : plan.pads) CHECK(pad.to_mm == Approx(170));
  const std::vector<std::string> said = parts_of(kit).front().statements;
  CHECK(std::any_of(said.begin(), said.end(), [](const std::string& s) { return s == "the rails run 15 mm past it"; }));
  CHECK(refusal(with_bracket(R"({"id": "end", "family": "end_bracket", "end": "rear", "overhang_mm": 44})")) ==
        "bracket-nothing-to-carry");
}

TEST_CASE("end bracket: joints go through what they clamp, and count the rails' screws once") {
  const Kit kit = whole();
  const Layout layout = settle(kit);
  int on_brackets = 0, to_base = 0, halves = 0;
  for (const Part& part : parts_of(kit))
    for (const Joint& joint : joints_of_part(kit, part)) {
      if (part.family != "end_bracket") continue;
      const JointSolution solved = solve_window(joint);
      INFO(joint.id << ": " << solved.why);
      CHECK(solved.ok);
      CHECK(joint.also_holds == "none");
      if (joint.layers.front().name == "rail") {
        ++on_brackets;
        // rail 3.5, body and pad, washer 0.5.
        CHECK(solved.grip_greatest_mm == Approx(3.5 + find(part, "rail-slot-" + joint.id.substr(joint.id.find("slot-") + 5))->at.z + 0.5));
      } else if (joint.id.find("split") != std::string::npos) {
        ++halves;
      } else {
        ++to_base;
      }
    }
  // Holes every 25 mm, the first 10 from the end: those at 10 and 35 lie on a pad of 44.7 or 49.7 mm.
  CHECK(on_brackets == 8);
  CHECK(to_base == 6);
  CHECK(halves == 1);
  CHECK(screws_in_base(kit, layout) == 2 * layout.rail_holes - on_brackets);
}

TEST_CASE("end bracket: a sunk head takes the first stock length that fits") {
  // A blind thread 4.5 mm deep takes 3.5 to 4.2: of 45 mm and more of plastic only some depths leave a listed length.
  const Part part = parts_of(with_bracket(screwed(R"({"id": "a", "along": "y", "at_mm": [30, -9], "screw": "M4",
      "anchor": {"kind": "tapped", "depth_mm": 4.5, "blind": true}, "also_holds": "none"})", R"(, "height_mm": 20)"))).front();
  for (const Joint& joint : joints_of_part(with_bracket(plain), part))
    if (joint.id == "end-screw-a") {
      CHECK(solve_window(joint).ok);
      const Feature* sink = find(part, "sink-a");
      const double sunk = sink ? find_dimension(*sink, "depth")->nominal_mm : 0;
      CHECK(joint.layers.front().mm == Approx(47.7 - sunk));
    }
}

TEST_CASE("end bracket: two halves share pins, a screw and one plane") {
  const std::vector<Part> parts = parts_of(whole());
  const auto half = [&](const std::string& id) {
    return *std::find_if(parts.begin(), parts.end(), [&](const Part& p) { return p.id == id; });
  };
  const Part left = half("bracket-front-left"), right = half("bracket-front-right");
  CHECK(bounding_box(build_solid(left)).high.x == 0);
  CHECK(bounding_box(build_solid(right)).low.x == 0);
  for (const char* id : {"pin-front", "pin-rear", "split-screw"}) {
    REQUIRE(find(left, id));
    REQUIRE(find(right, id));
    CHECK(find(left, id)->at == find(right, id)->at);
    CHECK(find(left, id)->axis.x == 1);
    CHECK(find(right, id)->axis.x == -1);
  }
  REQUIRE(left.bought.size() == 1);
  CHECK(left.bought[0].quantity == 2);
  CHECK(right.bought.empty());
  CHECK(find(left, "nut-pocket"));
  CHECK_FALSE(find(right, "nut-pocket"));
}

TEST_CASE("end bracket: what cannot be made is refused by name") {
  const auto opening = [](const char* size, const char* more) {
    return std::string(R"({"id": "end", "family": "end_bracket", "end": "rear", "height_mm": 20, "openings": [
      {"id": "o", "for": "belt", "along": "y", "at_mm": [0, -10], "size_mm": )") + size + more + "}]}";
  };
  CHECK(refusal(with_bracket(opening("[6, 6]", ""))) == "");
  CHECK(refusal(with_bracket(opening("[30, 6]", ""))) == "bracket-opening");
  CHECK(refusal(with_bracket(opening("[8, 6]", R"(, "roof": "bridge")"))) == "");
  CHECK(refusal(with_bracket(opening("[30, 6]", R"(, "roof": "bridge")"))) == "bracket-opening");
  CHECK(refusal(with_bracket(R"({"id": "end", "family": "end_bracket", "end": "rear", "pose": "on_left"})")) ==
        "bracket-pose");
  CHECK(refusal(with_bracket(screwed(R"({"id": "a", "along": "y", "at_mm": [30, -2], "screw": "M4",
      "anchor": {"kind": "tapped", "depth_mm": 10, "blind": true}})"))) == "bracket-screw");
  // Through the slot of the rail's screw.
  CHECK(refusal(with_bracket(screwed(R"({"id": "a", "along": "y", "at_mm": [75, -6], "screw": "M4",
      "anchor": {"kind": "tapped", "depth_mm": 10, "blind": true}})"))) == "bracket-crowded");
  CHECK(refusal(with_bracket(plain, {{"/rails/length_mm", "280"}, {"/rails/travel_mm", "100"}})) ==
        "bracket-nothing-to-carry");
  CHECK(refusal(with_bracket(R"({"id": "end", "family": "end_bracket", "end": "rear", "split": true,
      "split_at_mm": 75})")) == "bracket-split");
  CHECK(refusal(with_bracket(R"({"id": "end", "family": "end_bracket", "end": "rear", "split": true, "height_mm": 8})")) ==
        "bracket-split");
  CHECK(refusal(whole({{"/parts/1/split", "false"}})) == "bracket-long");
  // A screw through the belt's opening.
  CHECK(refusal(whole({{"/parts/1/openings/0/at_mm", "[-54, -8]"}, {"/parts/1/openings/0/size_mm", "[6, 4]"}})) ==
        "bracket-crowded");
  // The reader lets no such outline through: one that runs the wrong way round has no outside.
  Kit inside_out = with_bracket(plain);
  std::vector<Curve>& curves = inside_out.base->outline.curves;
  std::reverse(curves.begin(), curves.end());
  for (Curve& c : curves) {
    std::swap(c.start, c.end);
    c.ccw = !c.ccw;
  }
  CHECK(refusal(inside_out) == "bracket-outline");
  // Narrower than its own pads; wholly beside the base; over a base that does not reach the left rail, or hardly the
  // end.
  CHECK(refusal(with_bracket(R"({"id": "end", "family": "end_bracket", "end": "rear", "width_mm": 100})")) ==
        "bracket-nothing-to-carry");
  CHECK(refusal(with_bracket(plain,
                             {{"/base", R"({"outline_mm": [[300, -140], [400, -140], [400, 140], [300, 140]]})"}})) ==
        "bracket-no-base");
  CHECK(
      refusal(with_bracket(plain, {{"/base", R"({"outline_mm": [[0, -140], [150, -140], [150, 140], [0, 140]]})"}})) ==
      "bracket-no-base");
  CHECK(
      refusal(with_bracket(
          plain, {{"/base",
                   R"({"outline_mm": [[-150, -140], [150, -140], [150, 140], [0, 140], [0, 184], [-150, 184]]})"}})) ==
      "bracket-nothing-to-carry");
  // A screw beside the base, and one that no length suits.
  CHECK(refusal(with_bracket(screwed(R"({"id": "a", "along": "x", "at_mm": [170, -6], "screw": "M4",
      "anchor": {"kind": "tapped", "depth_mm": 10, "blind": true}})"))) == "bracket-screw");
  CHECK(refusal(with_bracket(screwed(R"({"id": "a", "along": "y", "at_mm": [30, -6], "screw": "M4",
      "anchor": {"kind": "tapped", "depth_mm": 1, "blind": true}, "also_holds": "none"})"))) == "no-screw-length");
  Kit bare = with_bracket(plain);
  bare.base.reset();
  CHECK(refusal(bare) == "bracket-no-base");
}

TEST_CASE("end bracket: the whole conversion stands nowhere in itself over the whole travel, and a keep-out is found") {
  const auto found = [](const Kit& kit) {
    const Layout layout = settle(kit);
    std::vector<MadePart> made;
    for (const Part& part : parts_of(kit)) made.push_back(make_part(kit, layout, part));
    return assemble(kit, layout, made, {}).interferences;
  };
  CHECK(found(whole()).empty());
  // A box that the rear bracket stands in, and one that its screw reaches.
  const std::vector<Interference> hit = found(whole({{"/keep_outs", R"([
      {"id": "box", "min_mm": [-20, 180, -40], "max_mm": [20, 200, -14]}])"}}));
  REQUIRE_FALSE(hit.empty());
  CHECK(hit.front().first == "bracket-rear");
  CHECK(hit.front().second == "keep-out box");
}
