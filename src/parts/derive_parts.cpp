#include <algorithm>

#include "base/error.h"
#include "parts/family.h"
#include "parts/grouping.h"
#include "parts/key.h"

namespace bedwright {

std::vector<Part> derive_parts(const Kit& kit, const Layout& layout) {
  return derive_parts(kit, layout, {});
}

std::vector<Part> derive_parts(const Kit& kit, const Layout& layout, const std::map<std::string, KeyPlan>& keys) {
  std::vector<Part> all;
  for (const PartRequest& request : kit.parts) {
    const auto& list = families();
    const auto family =
        std::find_if(list.begin(), list.end(), [&](const Family& f) { return request.family == f.name; });
    if (family == list.end())
      throw BadInput("kit " + kit.name, {{request.pointer + "/family", request.family, "no such part family", ""}});
    std::vector<Part> parts = family->derive(kit, layout, request);
    const bool placed = !parts.empty() && !parts.front().placements.empty();
    if (const auto key = keys.find(request.id); placed && key != keys.end())
      for (Part& part : parts) add_key(kit, key->second, part);
    if (placed) parts = grouped(std::move(parts));
    for (Part& part : parts) {
      if (!placed) {
        part.quantity = request.quantity.value_or(1);
        part.placements = request.placements;
        part.quarter_turns.assign(part.placements.size(), 0);
      }
      if (family->mark && request.settings.value("mark", true)) family->mark(kit, layout, request, part);
      all.push_back(std::move(part));
    }
  }
  return all;
}

}  // namespace bedwright
