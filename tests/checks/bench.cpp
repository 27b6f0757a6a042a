#include "checks/bench.h"

#include <algorithm>
#include <fstream>

namespace bedwright {

Json bench_json(const std::vector<Change>& changes) {
  std::ifstream file(std::string(BEDWRIGHT_ROOT) + "/params/kits/north-bench.json");
  Json kit = Json::parse(file);
  for (const auto& [pointer, value] : changes) kit[Json::json_pointer(pointer)] = value;
  return kit;
}

Bench::Bench(const std::vector<Change>& changes) {
  kit = read_kit(bench_json(changes).dump(), "bench", ".");
  layout = settle(kit);
  for (const Part& part : derive_parts(kit, layout)) parts.push_back(make_part(kit, part));
  for (std::size_t i = 0; i < parts.size(); ++i) compare_made(parts, i);
}

Bench::~Bench() = default;

Report Bench::report() const {
  return assemble(kit, layout, parts, {});
}

std::size_t Bench::index(const std::string& id) const {
  const auto found =
      std::find_if(parts.begin(), parts.end(), [&](const MadePart& p) { return p.report.part.id == id; });
  return static_cast<std::size_t>(found - parts.begin());
}

MadePart& Bench::part(const std::string& id) {
  return parts.at(index(id));
}

std::vector<Finding> with_code(const Report& report, const std::string& code) {
  std::vector<Finding> found;
  for (const Finding& f : report.findings)
    if (f.code == code) found.push_back(f);
  return found;
}

std::vector<Finding> findings_of(const std::vector<Change>& changes, const std::string& code) {
  return with_code(Bench(changes).report(), code);
}

}  // namespace bedwright
