#include "parts/support.h"

namespace parts_test {

Kit demo_kit(const std::string& name, const std::vector<Setting>& settings) {
  return read_kit_file(std::string(BEDWRIGHT_ROOT) + "/params/kits/" + name + ".json", settings);
}

Kit kit_with_part(const std::string& part, const std::vector<Setting>& more) {
  std::vector<Setting> settings = {{"/parts", "[" + part + "]"}};
  settings.insert(settings.end(), more.begin(), more.end());
  return demo_kit("north-bench", settings);
}

std::vector<Part> parts_of(const Kit& kit) {
  return derive_parts(kit, settle(kit));
}

std::vector<Part> of_family(const std::vector<Part>& parts, const std::string& family) {
  std::vector<Part> some;
  for (const Part& p : parts)
    if (p.family == family) some.push_back(p);
  return some;
}

const Feature* feature_of(const Part& part, const std::string& id) {
  for (const Feature& f : part.features)
    if (f.id == id) return &f;
  return nullptr;
}

int count_of(const Part& part, FeatureKind kind) {
  int n = 0;
  for (const Feature& f : part.features) n += f.kind == kind;
  return n;
}

double nominal(const Feature& f, const std::string& quantity) {
  const Dimension* d = find_dimension(f, quantity);
  return d ? d->nominal_mm : -1e9;
}

double modelled(const Feature& f, const std::string& quantity) {
  const Dimension* d = find_dimension(f, quantity);
  return d ? d->modelled_mm : -1e9;
}

bool states(const Part& part, const std::string& words) {
  for (const std::string& s : part.statements)
    if (s.find(words) != std::string::npos) return true;
  return false;
}

Transform mirror_x() {
  Transform t;
  t.m[0] = -1;
  return t;
}

Vec2 in_machine(const Layout& layout, const Part& part, std::size_t i, Vec2 p) {
  const Vec3 turned = turn(quarter_turn(2, part.quarter_turns.at(i)), {p.x, p.y, 0});
  for (const Placement& placement : layout.placements)
    if (placement.id == part.placements[i]) return placement.at + Vec2{turned.x, turned.y};
  return {1e9, 1e9};
}

}  // namespace parts_test
