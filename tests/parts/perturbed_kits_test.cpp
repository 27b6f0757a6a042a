// Demo kits with their numbers changed at random: what is built is a sound file that measures right; what is not says
// why.
#include <catch2/catch.hpp>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>

#include "base/error.h"
#include "output/make_set.h"
#include "parts/support.h"
#include "solid/build.h"

using namespace parts_test;

namespace {

constexpr unsigned long long seed = 41;
constexpr int kits_wanted = 160;

const std::vector<std::string> demo_kits = {"north-bench",  "tall-bench",        "south-bench", "flat-bench",
                                            "every-option", "every-option-down", "bench-gauges"};

Json demo_document(const std::string& name) {
  std::ifstream in(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json");
  return Json::parse(std::string(std::istreambuf_iterator<char>(in), {}));
}

/// Counts, and what has nothing to do with parts.
bool left_alone(const std::string& pointer) {
  for (const char* word : {"quantity", "count", "/open/", "/stock/", "/joints/"})
    if (pointer.find(word) != std::string::npos) return true;
  return false;
}

/// A hundredth is what a caliper shows; 2600 mm are not known better than to a millimetre.
double as_measured(double v) {
  const double step = std::fabs(v) >= 1000 ? 1 : std::fabs(v) >= 100 ? 0.1 : 0.01;
  return std::round(v / step) * step;
}

/// Up to six numbers changed by up to `most`, and now and then an option.
Json perturbed(Json document, Sequence& random, double most) {
  std::vector<std::string> numbers;
  const Json flat = document.flatten();
  for (const auto& [pointer, value] : flat.items())
    if (value.is_number() && !left_alone(pointer)) numbers.push_back(pointer);
  for (int n = static_cast<int>(random.between(1, 7)); n > 0; --n) {
    const std::string pointer = random.one_of(numbers);
    const double value = document.at(Json::json_pointer(pointer)).get<double>();
    const double changed = value == 0 ? random.between(-6, 6) : value * random.between(1 - most, 1 + most);
    document[Json::json_pointer(pointer)] = as_measured(changed);
  }
  for (Json& part : document.at("parts")) {
    if (part.at("family") != "adapter_plate" || random.next() < 0.5) continue;
    part["slot_axis"] = random.one_of<std::string>({"x", "y"});
    if (random.next() < 0.3) part["seat"] = random.one_of<std::string>({"full", "pads"});
    if (random.next() < 0.3) part["boss_side"] = random.one_of<std::string>({"up", "down"});
    if (random.next() < 0.3) part["mark"] = random.next() < 0.5;
  }
  return document;
}

/// Checks that every part is a sound file that measures right.
void check_sound(const Kit& kit, const std::vector<Part>& parts) {
  std::vector<MadePart> made;
  for (const Part& p : parts) made.push_back(make_part(kit, p));
  for (std::size_t i = 0; i < made.size(); ++i) {
    compare_made(made, i);
    const MeshHealth& h = made[i].measured.health;
    std::string wrong;
    if (!h.closed || !h.oriented || h.pieces != 1) wrong += "not one closed piece, outward; ";
    if (h.self_intersections || h.degenerate) wrong += "crosses itself or has facets without area; ";
    // The file is turned for printing and snapped again: half a lattice step either way.
    if (h.least_height_mm < std::min(parts[i].chord_mm, least_height_mm) - 2e-5)
      wrong += "facet " + std::to_string(h.least_height_mm) + " high; ";
    if (!made[i].comparison.ok) wrong += "not the part; ";
    for (const std::string& words : made[i].comparison.words) wrong += words + "; ";
    for (const MeasuredDimension& d : made[i].comparison.dimensions) {
      if (!d.measured_mm)
        wrong += d.feature + " " + d.quantity + " not measured; ";
      else if (!d.ok)
        wrong += d.feature + " " + d.quantity + " off by " + std::to_string(d.deviation_mm) + "; ";
    }
    INFO(parts[i].id << ": " << wrong);
    CHECK(wrong.empty());
  }
}


/// How many of the kits were built; each by itself is sound, or refused with a reason.
int swept(const std::vector<std::string>& names, int wanted, double most) {
  std::cout << "perturbed kits: seed " << seed << ", " << wanted << " kits\n";
  Sequence random(seed);
  int built = 0, parts_built = 0;
  std::map<std::string, int> refused;
  for (int i = 0; i < wanted; ++i) {
    const std::string name = names[static_cast<std::size_t>(i) % names.size()];
    const Json document = perturbed(demo_document(name), random, most);
    INFO("kit " << i << " from " << name << "\n" << document.dump());
    try {
      const Kit kit = read_kit(document.dump(), name, ".");
      const std::vector<Part> parts = parts_of(kit);
      check_sound(kit, parts);
      ++built;
      parts_built += static_cast<int>(parts.size());
    } catch (const CannotBuild& e) {
      INFO(e.code << ": " << e.what());
      CHECK_FALSE(e.code.empty());
      CHECK_FALSE(e.remedy.empty());
      CHECK_FALSE(e.features.empty());
      ++refused[e.code];
    } catch (const BadInput& e) {
      CHECK_FALSE(e.problems.empty());
      for (const Problem& p : e.problems) {
        INFO(to_text(p));
        CHECK(p.pointer.compare(0, 1, "/") == 0);
        CHECK_FALSE(p.message.empty());
      }
      ++refused["bad input"];
    }
  }
  std::cout << built << " built with " << parts_built << " parts";
  for (const auto& [code, count] : refused) std::cout << ", " << code << " " << count;
  std::cout << "\n";
  return built;
}

}  // namespace

TEST_CASE("parts: demo kits with numbers changed at random give sound files that measure right, or a reason") {
  CHECK(swept(demo_kits, kits_wanted, 0.12) >= kits_wanted / 2);
}

TEST_CASE("parts: the whole conversion with numbers changed at random gives sound files, or a reason") {
  // Its outline's pieces must meet: most changes of these are refused.
  CHECK(swept({"whole-bench"}, 40, 0.08) >= 8);
}

TEST_CASE("parts: the demo kit with any one number changed by 5 percent is made without an error") {
  const Json document = demo_document("north-bench");
  const Json flat = document.flatten();
  int made_kits = 0;
  for (const auto& [pointer, value] : flat.items()) {
    if (!value.is_number() || pointer.find("quantity") != std::string::npos) continue;
    for (const double factor : {0.95, 1.05}) {
      CAPTURE(pointer, factor);
      Json other = document;
      other[Json::json_pointer(pointer)] = value.get<double>() * factor;
      try {
        const Kit kit = read_kit(other.dump(), "changed", ".");
        const Layout layout = settle(kit);
        std::vector<MadePart> made;
        for (const Part& p : derive_parts(kit, layout)) made.push_back(make_part(kit, p));
        for (std::size_t i = 0; i < made.size(); ++i) compare_made(made, i);
        for (const Finding& f : assemble(kit, layout, made, {}).findings) {
          INFO(f.code << ": " << f.message);
          CHECK(f.severity != Severity::error);
        }
        ++made_kits;
      } catch (const Error& e) {
        FAIL_CHECK(e.what());
      }
    }
  }
  CHECK(made_kits >= 90);
}
