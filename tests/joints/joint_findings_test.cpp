// Each finding about a screw: a kit that raises it, and a neighbour that does not.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "checks/checks.h"
#include "kit/read_kit.h"
#include "output/hardware.h"
#include "output/joint_table.h"
#include "output/make_set.h"
#include "output/steps.h"
#include "parts/part_joints.h"

using namespace bedwright;

namespace {

Kit bench(const std::vector<std::string>& settings, const std::string& name = "north-bench") {
  std::vector<Setting> parsed;
  for (const std::string& text : settings) parsed.push_back(parse_setting(text));
  return read_kit_file(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json", parsed);
}

std::vector<JointSolution> solved(const Kit& kit, const std::vector<Part>& parts) {
  std::vector<JointSolution> solutions;
  for (const Part& part : parts)
    for (const Joint& j : joints_of_part(kit, part)) solutions.push_back(solve_window(j));
  for (const Joint& j : joints_of_kit(kit)) solutions.push_back(solve_window(j));
  return solutions;
}

std::vector<Finding> findings_of(const Kit& kit, const std::vector<Part>& parts, const Layout& layout) {
  Known known{kit, layout, {}, solved(kit, parts), {}};
  for (const Part& part : parts) {
    KnownPart p;
    p.part = &part;
    known.parts.push_back(p);
  }
  std::vector<Finding> findings;
  check_joints(known, findings);
  check_insert(known, findings);
  check_insert_stock(known, findings);
  return findings;
}

std::vector<Finding> findings_of(const Kit& kit) {
  const Layout layout = settle(kit);
  return findings_of(kit, derive_parts(kit, layout), layout);
}

int count_of(const std::vector<Finding>& findings, const std::string& code, const std::string& feature = "") {
  return static_cast<int>(std::count_if(findings.begin(), findings.end(), [&](const Finding& f) {
    return f.code == code && (feature.empty() || f.feature == feature);
  }));
}

int count_with(const std::vector<std::string>& settings, const std::string& code, const std::string& feature = "") {
  return count_of(findings_of(bench(settings)), code, feature);
}

std::string step_with(const std::vector<Step>& steps, const std::string& words) {
  for (const Step& s : steps)
    if (s.what.find(words) != std::string::npos) return s.what;
  return "";
}

}  // namespace

TEST_CASE("no-screw: a screw too long for what lies behind, with its remedy", "[joints][checks]") {
  const auto raised = findings_of(bench({"/joints/1/behind/clear_mm=0.2"}));
  REQUIRE(count_of(raised, "no-screw", "side-foot") == 1);
  for (const Finding& f : raised)
    if (f.code == "no-screw") {
      CHECK(f.severity == Severity::error);
      CHECK(f.remedy.find(" takes M5x") != std::string::npos);
    }
  CHECK(count_with({}, "no-screw") == 0);
}

TEST_CASE("unknown-behind says stop and look", "[joints][checks]") {
  const auto raised = findings_of(bench({"/joints/1/behind=unknown"}));
  REQUIRE(count_of(raised, "unknown-behind") == 1);
  for (const Finding& f : raised)
    if (f.code == "unknown-behind") CHECK(f.message.find("stop and look") != std::string::npos);
  CHECK(count_with({}, "unknown-behind") == 0);
}

TEST_CASE("also-holds: no answer is a warning, none is an answer", "[joints][checks]") {
  const std::string joint =
      R"(/joints=[{"id":"x","screw":"M4","layers":[{"name":"l","mm":5}],"anchor":{"kind":"tapped","depth_mm":4})";
  CHECK(count_with({joint + "}]"}, "also-holds") == 1);
  CHECK(count_with({joint + R"(,"also_holds":"none"}])"}, "also-holds") == 0);
}

TEST_CASE("old-screw: a screw that would hold too little must not go back", "[joints][checks]") {
  CHECK(count_with({}, "old-screw", "motor-bracket") == 1);
  CHECK(count_with({"/joints/0/existing/length_mm=12", "/joints/0/existing/grows_mm=0"}, "old-screw") == 0);
}

TEST_CASE("clamp-stress: a torque that crushes the plastic", "[joints][checks]") {
  CHECK(count_with({"/joints/1/torque_nm=3"}, "clamp-stress", "side-foot") == 1);
  CHECK(count_with({"/joints/1/torque_nm=0.5"}, "clamp-stress") == 0);
  CHECK(count_with({"/joints/1/torque_nm=3", "/joint_rules/clamp_limit_mpa=90"}, "clamp-stress") == 0);
  CHECK(count_with({"/joints/1/hole_mm=12"}, "clamp-stress", "side-foot") == 1);
}

TEST_CASE("second-choice: said where it must be bought, not where it is at hand", "[joints][checks]") {
  const std::vector<std::string> narrow = {"/joints/1/layers/0/mm=8.9", "/joints/1/behind/clear_mm=0.3"};
  CHECK(count_with(narrow, "second-choice", "side-foot") == 1);
  auto at_hand = narrow;
  at_hand.push_back("/joints/1/stock=[14]");
  CHECK(count_with(at_hand, "second-choice") == 0);
  CHECK(count_with({}, "second-choice") == 0);
}

TEST_CASE("insert-pulls-out: an insert pressed in from the screw head's side", "[joints][checks]") {
  const std::string head = R"(/joints/1/anchor={"kind":"insert","depth_mm":6,"pressed_from":"head"})";
  const std::string far = R"(/joints/1/anchor={"kind":"insert","depth_mm":6,"pressed_from":"far"})";
  CHECK(count_with({head}, "insert-pulls-out", "side-foot") == 1);
  CHECK(count_with({far}, "insert-pulls-out") == 0);

  const Kit kit = bench({});
  const Layout layout = settle(kit);
  std::vector<Part> parts = derive_parts(kit, layout);
  CHECK(count_of(findings_of(kit, parts, layout), "insert-pulls-out") == 0);
  int turned = 0;
  for (Part& part : parts)
    for (Feature& f : part.features)
      if (f.kind == FeatureKind::insert_pocket) f.axis = {0, 0, 1}, ++turned;
  REQUIRE(turned > 0);
  CHECK(count_of(findings_of(kit, parts, layout), "insert-pulls-out") == turned);
}

TEST_CASE("insert-edge: a pocket too near to the plate's edge", "[joints][checks]") {
  const Kit kit = bench({"/parts/0/boss_height_mm=0", "/parts/0/margin_mm=5", "/parts/0/thickness_mm=9"});
  const Layout layout = settle(kit);
  std::vector<Part> parts = derive_parts(kit, layout);
  CHECK(count_of(findings_of(kit, parts, layout), "insert-edge") == 0);
  for (Part& part : parts)
    for (Feature& f : part.features)
      if (f.kind == FeatureKind::insert_pocket) {
        const Loop& outline = part.features.front().profile[0];
        const double radius = find_dimension(f, "diameter")->nominal_mm / 2;
        // Outward until 1.5 mm of wall are left; this insert asks for 2.1.
        for (double k = 1; distance(outline, {f.at.x, f.at.y}) - radius > 1.5 && k < 2; k += 0.01)
          f.at = {f.at.x * 1.01, f.at.y * 1.01, f.at.z};
      }
  CHECK(count_of(findings_of(kit, parts, layout), "insert-edge") > 0);
}

TEST_CASE("insert-stock: another length at hand is checked for pocket and screw", "[joints][checks]") {
  const auto with = [](const std::string& lengths) {
    return findings_of(
        bench({R"(/stock=[{"thread":"M4","lengths_mm":[10,12,16],"insert_lengths_mm":)" + lengths + "}]"}));
  };
  const auto shorter = with("[4]"), longer = with("[9]"), same = with("[4.7]");
  REQUIRE(count_of(shorter, "insert-stock") == 2);  // one a distinct plate
  REQUIRE(count_of(longer, "insert-stock") == 2);
  CHECK(count_of(same, "insert-stock") == 0);
  for (const Finding& f : shorter)
    if (f.code == "insert-stock") CHECK(f.severity == Severity::note);
  for (const Finding& f : longer)
    if (f.code == "insert-stock") {
      CHECK(f.severity == Severity::warning);
      CHECK(f.message.find("stand out of its pocket by 3.3 mm") != std::string::npos);  // pocket 4.7 + 1 deep
    }
  // Fits its pocket, but has too little thread for any screw.
  const auto stub = with("[3]");
  REQUIRE(count_of(stub, "insert-stock") == 2);
  for (const Finding& f : stub)
    if (f.code == "insert-stock") CHECK(f.message.find("no screw does") != std::string::npos);
}

TEST_CASE("derived joints follow the part at that very hole", "[joints]") {
  const Kit kit = bench({});
  const Layout layout = settle(kit);
  for (const Part& part : derive_parts(kit, layout)) {
    if (part.family != "adapter_plate") continue;
    for (const Joint& j : joints_of_part(kit, part)) {
      if (j.anchor.kind != "insert") continue;
      // The dome is under the sheet: the seat's height at the hole, by the sphere itself.
      const Feature* pocket = nullptr;
      for (const Feature& f : part.features)
        if (f.kind == FeatureKind::insert_pocket) pocket = &f;
      REQUIRE(pocket);
      const Vec2 placed = layout.placements[0].at;
      const double x = pocket->at.x + placed.x, y = pocket->at.y + placed.y, r = 2600;
      const bool front_left = part.placements.front() == "front-left";
      if (!front_left) continue;
      const double seat = layout.height_mm - (r - std::sqrt(r * r - x * x - y * y));
      CHECK(j.layers[1].mm == Approx(seat - pocket->at.z - 4.7).margin(1e-6));
    }
  }
}

TEST_CASE("the machine is unplugged before the first step that touches it", "[steps]") {
  const Kit kit = bench({});
  const auto steps = assembly_steps({}, solved(kit, {}));
  const auto first = [&](const std::string& words) {
    return std::find_if(steps.begin(), steps.end(),
                        [&](const Step& s) { return s.what.find(words) != std::string::npos; }) -
           steps.begin();
  };
  const auto unplug = first("unplug it, wait, verify that it is dead");
  CHECK(unplug < first("Screw the first rail"));
  CHECK(unplug < first("comes out"));
  const auto plug = first("Plug it in and home it once");
  REQUIRE(plug < static_cast<std::ptrdiff_t>(steps.size()));
  CHECK(first("Move the bed by hand") < plug);
}

TEST_CASE("a screw that also holds something comes out with care and goes back with its own check", "[joints][steps]") {
  const Kit kit = bench({});
  const auto steps = assembly_steps({}, solved(kit, {}));
  const std::string before = step_with(steps, "Before the screw of motor-bracket");
  for (const char* word : {"unplug", "wait", "dead", "cover", "support", "the motor", "qualified person"}) {
    CAPTURE(word);
    CHECK(before.find(word) != std::string::npos);
  }
  const std::string back = step_with(steps, "Put motor-bracket back with M4x12");
  CHECK(back.find("Screw check") != std::string::npos);
  CHECK(back.find("turns hold") != std::string::npos);
  const auto place = [&](const std::string& words) {
    for (const Step& s : steps)
      if (s.what.find(words) != std::string::npos) return s.n;
    return 0;
  };
  CHECK(place("Before the screw of motor") + 1 == place("Take the screw of motor"));
  CHECK(place("Take the screw of motor") + 1 == place("Put motor-bracket back"));
  // A new screw that holds nothing else needs none of it.
  CHECK(step_with(steps, "Before the screw of side-foot").empty());
  CHECK_FALSE(step_with(steps, "Fit the other joints").empty());
}

TEST_CASE("hardware: of each ten begun one spare, two at the least") {
  // Rails of 320 mm have 13 holes each at a pitch of 25 mm.
  const Kit kit = bench({"/rails/length_mm=320"});
  const auto lines = hardware_list(kit, settle(kit), {}, {});
  const auto rails = std::find_if(lines.begin(), lines.end(), [](const HardwareLine& l) {
    return l.purpose.find("rails to base") != std::string::npos;
  });
  REQUIRE(rails != lines.end());
  CHECK(rails->quantity == 26);
  CHECK(rails->spares == 3);
}

TEST_CASE("hardware counts by hand: joints, spares, old screws, tools", "[joints][hardware]") {
  const Kit kit = bench({});
  const Layout layout = settle(kit);
  std::vector<PartReport> parts;
  const std::vector<Part> derived = derive_parts(kit, layout);
  for (const Part& part : derived) {
    PartReport p;
    p.part = part;
    parts.push_back(p);
  }
  const auto lines = hardware_list(kit, layout, parts, solved(kit, derived));
  const auto line = [&](const std::string& start) {
    for (const HardwareLine& l : lines)
      if (l.item.compare(0, start.size(), start) == 0) return l;
    return HardwareLine{};
  };
  const auto sum = [&](const std::string& start) {
    int n = 0;
    for (const HardwareLine& l : lines)
      if (l.kind == "screw" && l.item.compare(0, start.size(), start) == 0) n += l.quantity;
    return n;
  };
  CHECK(line("heat-set insert M4").quantity == 4);
  CHECK(line("heat-set insert M4").spares == 2);
  CHECK(line("heat-set insert M4").ask.find("6.1") != std::string::npos);
  CHECK(sum("ISO 4762 M3x") == 16);     // four carriages of four
  CHECK(sum("ISO 4762 M4x") == 4 + 2);  // frame, motor bracket
  CHECK(sum("ISO 4762 M5x") == 4);
  CHECK(line("ISO 7089 M5").quantity == 4);
  CHECK(line("ISO 4762 M3, length to suit").quantity == 2 * layout.rail_holes);
  CHECK(line("profile rail").ask.find("first hole 10 mm") != std::string::npos);  // 370 = 2 x 10 + 14 x 25
  CHECK(line("profile rail").ask.find("2 carriages on each rail") != std::string::npos);
  CHECK(line("carriage").ask.find("M3 threads 3.5 mm deep") != std::string::npos);
  CHECK(line("old ISO 4762 M4x8").item.find("do not use again") != std::string::npos);
  CHECK(line("hexagon key 2.5 mm").kind == "tool");
  CHECK(line("light machine oil").kind == "oil");
  const std::string csv = hardware_csv(lines);
  CHECK(csv.find("item,quantity,spares,for,ask the seller,kind\r\n") == 0);

  const Kit same = bench({"/joints/0/existing/length_mm=12", "/joints/0/existing/grows_mm=0"});
  const auto again = hardware_list(same, layout, parts, solved(same, derived));
  CHECK(std::any_of(again.begin(), again.end(), [](const HardwareLine& l) {
    return l.item == "old ISO 4762 M4x12, use again" && l.quantity == 2;
  }));
}

TEST_CASE("the screw table has one line a joint", "[joints]") {
  const Kit kit = bench({"/joints/1/behind/clear_mm=0.2"});
  const auto joints = solved(kit, {});
  const std::string table = joint_table(joints);
  CHECK(std::count(table.begin(), table.end(), '\n') == static_cast<long>(joints.size()) + 1);
  CHECK(table.find("M4x12") != std::string::npos);
  CHECK(table.find("NO: ") != std::string::npos);
  CHECK(joint_table({}).empty());
}
