// The demo kit with a few values changed, made and checked in memory.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "checks/checks.h"
#include "kit/read_kit.h"
#include "output/make_set.h"

namespace bedwright {

using Change = std::pair<std::string, Json>;

Json bench_json(const std::vector<Change>& changes);

/// Everything a report is made of, kept alive, so that a test can damage a measurement and check again.
struct Bench {
  Kit kit;
  Layout layout;
  std::vector<MadePart> parts;

  explicit Bench(const std::vector<Change>& changes = {});
  ~Bench();
  Bench(const Bench&) = delete;
  Bench& operator=(const Bench&) = delete;

  Report report() const;
  std::size_t index(const std::string& id) const;
  MadePart& part(const std::string& id);
};

std::vector<Finding> with_code(const Report& report, const std::string& code);
std::vector<Finding> findings_of(const std::vector<Change>& changes, const std::string& code);

}  // namespace bedwright
