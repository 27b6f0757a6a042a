// The gauge on adapter plates of the demo kits: right files measure right, wrong kits' files are named.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdio>
#include <string>

#include "base/error.h"
#include "gauge/compare.h"
#include "gauge/read_mesh.h"
#include "gauge/shapes.h"
#include "kit/read_kit.h"
#include "output/write_set.h"
#include "output/write_stl.h"
#include "solid/build.h"

using namespace bedwright;

namespace {

struct Plates {
  std::vector<Part> parts;
  std::vector<Mesh> solids;
  Candidate candidate(std::size_t i) const { return {&parts[i], &solids[i], {}}; }
  std::vector<Candidate> others(std::size_t i) const {
    std::vector<Candidate> out;
    for (std::size_t k = 0; k < parts.size(); ++k)
      if (k != i) out.push_back(candidate(k));
    return out;
  }
};

/// The adapter plates alone (they have every feature), or all parts.
Plates plates_of(const std::string& name, const std::vector<Setting>& settings = {}, bool all_families = false) {
  Kit kit = read_kit_file(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json", settings);
  kit.parts.erase(std::remove_if(kit.parts.begin(), kit.parts.end(),
                                 [&](const PartRequest& p) { return !all_families && p.family != "adapter_plate"; }),
                  kit.parts.end());
  Plates out;
  out.parts = derive_parts(kit, settle(kit));
  for (const Part& p : out.parts) out.solids.push_back(build_solid(p));
  return out;
}

const std::vector<std::string> domed{"north-bench", "tall-bench", "south-bench"};

std::string told(const Comparison& c) {
  std::string out;
  for (std::size_t i = 0; i < c.words.size(); ++i) out += c.mistakes[i] + ": " + c.words[i] + "\n";
  return out;
}

void check_accused(const Mesh& file, const Plates& plates, const std::string& code) {
  const Comparison c = compare(measure(file), plates.candidate(0), plates.others(0));
  INFO(told(c));
  REQUIRE_FALSE(c.mistakes.empty());
  CHECK(std::count(c.mistakes.begin(), c.mistakes.end(), code) == 1);
  CHECK_FALSE(c.ok);
}

std::string output_of(const std::string& command) {
  std::string out;
  FILE* pipe = popen(command.c_str(), "r");
  if (!pipe) return out;
  char buffer[512];
  while (std::fgets(buffer, sizeof buffer, pipe)) out += buffer;
  pclose(pipe);
  return out;
}

double number_after(const std::string& text, const std::string& label) {
  const std::size_t at = text.find(label);
  if (at == std::string::npos) return -1;
  const std::size_t digits = text.find_first_of("-0123456789", at + label.size());
  return digits == std::string::npos ? -1 : std::stod(text.substr(digits));
}

}  // namespace

TEST_CASE("gauge: every dimension of every demo part is measured from its written bytes, within tolerance") {
  for (const char* name : {"north-bench", "tall-bench", "south-bench", "flat-bench", "every-option",
                           "every-option-down", "bench-gauges"}) {
    const Plates plates = plates_of(name, {}, true);
    for (std::size_t i = 0; i < plates.parts.size(); ++i) {
      const Mesh file = read_stl(to_stl(plates.solids[i], "kit", plates.parts[i].id, "A"), "part.stl");
      const Measurement m = measure(file);
      const Comparison c = compare(m, plates.candidate(i), plates.others(i));
      INFO(name << " " << plates.parts[i].id << "\n" << told(c));
      CHECK(m.health.closed);
      CHECK(m.health.oriented);
      CHECK(m.health.self_intersections == 0);
      CHECK(c.ok);
      CHECK(c.mistakes.empty());
      for (const MeasuredDimension& d : c.dimensions) {
        INFO(d.feature << " " << d.quantity << " " << d.modelled_mm << " measured " << d.measured_mm.value_or(-1e9));
        CHECK(d.measured_mm.has_value());
        CHECK(d.ok);
      }
    }
  }
}

TEST_CASE("gauge: demo adapter plates mirrored, turned over, inside out, in inches") {
  Transform mirror;
  mirror.m[0] = -1;
  for (const std::string& name : domed) {
    const Plates plates = plates_of(name);
    const Mesh& good = plates.solids[0];
    check_accused(transformed(good, mirror), plates, "mirrored");
    check_accused(transformed(good, quarter_turn(1, 2)), plates, "upside-down");
    check_accused(shapes::inside_out(good), plates, "inside-out");
    Mesh inches = good;
    for (Vec3& v : inches.vertices) v = (1 / 25.4) * v;
    check_accused(inches, plates, "scale-inch");
    check_accused(plates.solids[1], plates, "wrong-part");
    const Comparison turned = compare(measure(transformed(good, turn_about_z(0.5))), plates.candidate(0), {});
    INFO(told(turned));
    CHECK(turned.mistakes.empty());
  }
}

TEST_CASE("gauge: a seat that is bowed the other way reads as a radius below nothing") {
  for (const std::string& name : domed) {
    const Plates plates = plates_of(name);
    const bool up = plates.parts[0].seat.sign > 0;
    const Plates bowed = plates_of(name, {{"/frame/dome/crown", up ? "down" : "up"}});
    int seen = 0;
    for (const MeasuredDimension& d : compare(measure(bowed.solids[0]), plates.candidate(0), {}).dimensions) {
      if (d.feature != "seat" || d.quantity.rfind("radius", 0) != 0 || !d.measured_mm) continue;
      ++seen;
      CAPTURE(name, d.quantity);
      CHECK(*d.measured_mm < 0);
      CHECK_FALSE(d.ok);
    }
    CHECK(seen > 0);
  }
}

TEST_CASE("gauge: files of a kit with one setting wrong") {
  for (const std::string& name : domed) {
    const Plates plates = plates_of(name);
    const bool up = plates.parts[0].seat.sign > 0;
    check_accused(plates_of(name, {{"/frame/dome/crown", up ? "down" : "up"}}).solids[0], plates, "wrong-dome");
    check_accused(plates_of(name, {{"/frame/dome/apex_mm", "[15, 10]"}}).solids[0], plates, "wrong-dome");
    check_accused(plates_of(name, {{"/parts/0/thickness_mm", "7.1"}}).solids[0], plates, "feature-moved");
  }
  for (const std::string& name : domed)
    check_accused(plates_of(name, {{"/parts/0/mark", "false"}}).solids[0], plates_of(name), "feature-missing");
  for (const char* name : {"tall-bench", "south-bench", "every-option-down"})
    check_accused(plates_of(name, {{"/parts/0/boss_side", "up"}}).solids[0], plates_of(name), "wrong-boss-side");
}

TEST_CASE("gauge: admesh agrees on volume, pieces and closedness") {
  if (output_of("admesh --version 2>/dev/null").empty()) {
    WARN("skipped: admesh is not installed");
    return;
  }
  const Plates plates = plates_of("north-bench");
  const std::string path = "gauge-referee.stl";
  for (const Mesh& solid : plates.solids) {
    write_file(path, to_stl(solid, "kit", "part", "A"));
    const std::string said = output_of("admesh " + path + " 2>/dev/null");
    std::remove(path.c_str());
    const Measurement m = measure(solid);
    // admesh sums in single precision.
    CHECK(number_after(said, "Volume   :") == Approx(m.volume_mm3).epsilon(1e-4));
    CHECK(number_after(said, "Number of parts       :") == m.health.pieces);
    CHECK(number_after(said, "Total disconnected facets        :") == m.health.open_edges);
  }
}
