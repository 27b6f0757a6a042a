#include "checks/keyed_parts.h"

#include <algorithm>
#include <optional>

#include "base/error.h"
#include "base/numbers.h"
#include "checks/wrong_ways.h"
#include "parts/adapter_plate.h"
#include "parts/key.h"
#include "solid/build.h"

namespace bedwright {
namespace {

constexpr int most_ways = 1000000;  // all of them

using Keys = std::map<std::string, KeyPlan>;

bool of_request(const Part& part, const PartRequest& request) {
  return part.settings.value("id", std::string()) == request.id;
}

std::vector<std::string> ids_of(const std::vector<Part>& parts, const PartRequest& request) {
  std::vector<std::string> ids;
  for (const Part& p : parts)
    if (of_request(p, request)) ids.push_back(p.id);
  return ids;
}

bool can_be_built(const std::vector<Part>& parts, const PartRequest& request) {
  try {
    for (const Part& part : parts)
      if (of_request(part, request)) build_solid(part);
  } catch (const CannotBuild&) {
    return false;
  }
  return true;
}

int count_of(const std::vector<Part>& parts, const PartRequest& request) {
  return int(std::count_if(parts.begin(), parts.end(), [&](const Part& p) { return of_request(p, request); }));
}

struct Choice {
  KeyPlan plan;
  int open = 0, parts = 0;
};

/// Plans come least plastic first; of those that leave no more than `most` open, the one with the fewest open, then
/// with the fewest different parts.
std::optional<Choice> best_of(const Kit& kit, const Layout& layout, const PartRequest& request, const Keys& keys,
                              const std::vector<KeyPlan>& plans, int most, int parts_without) {
  std::optional<Choice> best;
  for (const KeyPlan& plan : plans) {
    Keys tried = keys;
    tried[request.id] = plan;
    const std::vector<Part> parts = derive_parts(kit, layout, tried);
    const int different = count_of(parts, request), enough = best ? best->open : most;
    if (best && best->open == 0 && different >= best->parts) continue;
    const int open = open_ways(kit, layout, parts, ids_of(parts, request), enough);
    if (open > enough || (best && open == best->open && different >= best->parts)) continue;
    if (!right_ways_blocked(kit, layout, parts).empty() || !can_be_built(parts, request)) continue;
    best = Choice{plan, open, different};
    if (open == 0 && different <= parts_without) break;
  }
  return best;
}

std::optional<Choice> chosen_key(const Kit& kit, const Layout& layout, const PartRequest& request, const Keys& keys,
                                 int open_without, int parts_without) {
  std::vector<Part> others;
  for (const PartRequest& other : kit.parts)
    if (other.family == request.family && other.id != request.id)
      for (Part& p : derive_adapter_plates(kit, layout, other)) others.push_back(std::move(p));
  const std::vector<KeyPlan> plans = key_plans(kit, layout, derive_adapter_plates(kit, layout, request), others);
  const auto whole = best_of(kit, layout, request, keys, plans, 0, parts_without);
  return whole ? whole : best_of(kit, layout, request, keys, plans, open_without - 1, parts_without);
}

}  // namespace

std::vector<Part> keyed_parts(const Kit& kit, const Layout& layout, const AtOnce& at_once) {
  Keys keys;
  std::map<std::string, std::string> said;
  for (const PartRequest& request : kit.parts) {
    if (request.family != "adapter_plate" || !request.settings.value("key", false)) continue;
    const std::vector<Part> bare = derive_parts(kit, layout, keys);
    const int open = open_ways(kit, layout, bare, ids_of(bare, request), most_ways);
    if (open == 0) {
      said[request.id] = no_key_statement + std::string("no wrong way that matters bolts up");
      continue;
    }
    const auto choice = chosen_key(kit, layout, request, keys, open, count_of(bare, request));
    if (!choice) {
      said[request.id] = no_key_statement + std::string("none that fits here blocks any wrong way");
      continue;
    }
    keys[request.id] = choice->plan;
    said[request.id] = key_statement + choice->plan.words + ", " + decimal(choice->plan.added_mm3 / 1000, 2) +
                       " cm3 on all plates together; of " + std::to_string(open) +
                       (open == 1 ? " wrong way that bolts up it blocks " : " wrong ways that bolt up it blocks ") +
                       (choice->open == 0 ? "all" : std::to_string(open - choice->open)) +
                       ", tried one plate at a time (both plates of a rail put on the other rail together may still go on)";
  }
  std::vector<Part> parts = derive_parts(kit, layout, keys, at_once);
  for (Part& part : parts)
    if (const auto words = said.find(part.settings.value("id", std::string())); words != said.end())
      part.statements.push_back(words->second);
  return parts;
}

}  // namespace bedwright
