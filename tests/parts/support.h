// What the tests of parts share: kits read through the reader, and ways to look at a part from outside.
#pragma once

#include <string>
#include <vector>

#include "base/trig.h"
#include "kit/read_kit.h"
#include "parts/features.h"
#include "parts/part.h"

namespace parts_test {

using namespace bedwright;

Kit demo_kit(const std::string& name, const std::vector<Setting>& settings = {});

/// The demo kit with its parts replaced by one, given as JSON text.
Kit kit_with_part(const std::string& part, const std::vector<Setting>& more = {});
std::vector<Part> parts_of(const Kit& kit);
std::vector<Part> of_family(const std::vector<Part>& parts, const std::string& family);
const Feature* feature_of(const Part& part, const std::string& id);
int count_of(const Part& part, FeatureKind kind);
double nominal(const Feature& f, const std::string& quantity);
double modelled(const Feature& f, const std::string& quantity);
bool states(const Part& part, const std::string& words);
Transform mirror_x();

/// The part frame's point as it stands in the machine at the i-th placement the part serves.
Vec2 in_machine(const Layout& layout, const Part& part, std::size_t i, Vec2 p);

/// A fixed sequence of numbers in [0, 1): the same on every machine.
struct Sequence {
  explicit Sequence(unsigned long long seed) : state(seed) {}
  unsigned long long state;
  double next() {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<double>(state >> 11) / 9007199254740992.0;
  }
  double between(double low, double high) { return low + (high - low) * next(); }
  /// To a tenth, as people measure.
  double tenth(double low, double high) { return std::round(between(low, high) * 10) / 10; }
  template <typename T>
  const T& one_of(const std::vector<T>& list) {
    return list[static_cast<std::size_t>(next() * static_cast<double>(list.size()))];
  }
};

}  // namespace parts_test
