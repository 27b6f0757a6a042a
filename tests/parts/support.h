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

inline Kit demo_kit(const std::string& name, const std::vector<Setting>& settings = {}) {
  return read_kit_file(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json", settings);
}

/// The demo kit with its parts replaced by one, given as JSON text.
inline Kit kit_with_part(const std::string& part, const std::vector<Setting>& more = {}) {
  std::vector<Setting> settings = {{"/parts", "[" + part + "]"}};
  settings.insert(settings.end(), more.begin(), more.end());
  return demo_kit("north-bench", settings);
}

inline std::vector<Part> parts_of(const Kit& kit) {
  return derive_parts(kit, settle(kit));
}

inline std::vector<Part> of_family(const std::vector<Part>& parts, const std::string& family) {
  std::vector<Part> some;
  for (const Part& p : parts)
    if (p.family == family) some.push_back(p);
  return some;
}

inline const Feature* feature_of(const Part& part, const std::string& id) {
  for (const Feature& f : part.features)
    if (f.id == id) return &f;
  return nullptr;
}

inline int count_of(const Part& part, FeatureKind kind) {
  int n = 0;
  for (const Feature& f : part.features) n += f.kind == kind;
  return n;
}

inline double nominal(const Feature& f, const std::string& quantity) {
  const Dimension* d = find_dimension(f, quantity);
  return d ? d->nominal_mm : -1e9;
}

inline double modelled(const Feature& f, const std::string& quantity) {
  const Dimension* d = find_dimension(f, quantity);
  return d ? d->modelled_mm : -1e9;
}

inline bool states(const Part& part, const std::string& words) {
  for (const std::string& s : part.statements)
    if (s.find(words) != std::string::npos) return true;
  return false;
}

inline Transform mirror_x() {
  Transform t;
  t.m[0] = -1;
  return t;
}

/// The part frame's point as it stands in the machine at the i-th placement the part serves.
inline Vec2 in_machine(const Layout& layout, const Part& part, std::size_t i, Vec2 p) {
  const Vec3 turned = turn(quarter_turn(2, part.quarter_turns.at(i)), {p.x, p.y, 0});
  for (const Placement& placement : layout.placements)
    if (placement.id == part.placements[i]) return placement.at + Vec2{turned.x, turned.y};
  return {1e9, 1e9};
}

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
