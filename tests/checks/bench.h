// The demo kit with a few values changed, made and checked in memory.
#pragma once

#include <algorithm>
#include <fstream>
#include <string>
#include <utility>
#include <vector>

#include "checks/checks.h"
#include "kit/read_kit.h"
#include "output/make_set.h"

namespace bedwright {

using Change = std::pair<std::string, Json>;

inline Json bench_json(const std::vector<Change>& changes) {
  std::ifstream file(std::string(BEDWRIGHT_ROOT) + "/params/kits/north-bench.json");
  Json kit = Json::parse(file);
  for (const auto& [pointer, value] : changes) kit[Json::json_pointer(pointer)] = value;
  return kit;
}

/// Everything a report is made of, kept alive, so that a test can damage a measurement and check again.
struct Bench {
  Kit kit;
  Layout layout;
  std::vector<MadePart> parts;

  explicit Bench(const std::vector<Change>& changes = {}) {
    kit = read_kit(bench_json(changes).dump(), "bench", ".");
    layout = settle(kit);
    for (const Part& part : derive_parts(kit, layout)) parts.push_back(make_part(kit, part));
    for (std::size_t i = 0; i < parts.size(); ++i) compare_made(parts, i);
  }
  Report report() const { return assemble(kit, layout, parts, {}); }
  std::size_t index(const std::string& id) const {
    const auto found =
        std::find_if(parts.begin(), parts.end(), [&](const MadePart& p) { return p.report.part.id == id; });
    return static_cast<std::size_t>(found - parts.begin());
  }
  MadePart& part(const std::string& id) { return parts.at(index(id)); }
};

inline std::vector<Finding> with_code(const Report& report, const std::string& code) {
  std::vector<Finding> found;
  for (const Finding& f : report.findings)
    if (f.code == code) found.push_back(f);
  return found;
}

inline std::vector<Finding> findings_of(const std::vector<Change>& changes, const std::string& code) {
  return with_code(Bench(changes).report(), code);
}

}  // namespace bedwright
