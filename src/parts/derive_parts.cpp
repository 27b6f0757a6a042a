#include <algorithm>

#include "base/error.h"
#include "parts/family.h"
#include "parts/grouping.h"
#include "parts/key.h"

namespace bedwright {
namespace {

struct Derived {
  Part part;
  const Family* family;
  const PartRequest* request;
};

void derive(const Kit& kit, const Layout& layout, const PartRequest& request,
            const std::map<std::string, KeyPlan>& keys, std::vector<Derived>& all) {
  const auto& list = families();
  const auto family = std::find_if(list.begin(), list.end(), [&](const Family& f) { return request.family == f.name; });
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
    all.push_back({std::move(part), &*family, &request});
  }
}

}  // namespace

std::vector<Part> derive_parts(const Kit& kit, const Layout& layout) {
  return derive_parts(kit, layout, {});
}

std::vector<Part> derive_parts(const Kit& kit, const Layout& layout, const std::map<std::string, KeyPlan>& keys,
                               const AtOnce& at_once) {
  std::vector<Derived> all;
  for (const PartRequest& request : kit.parts) derive(kit, layout, request, keys, all);
  each_at_once(at_once, all.size(), [&](std::size_t i) {
    const Derived& d = all[i];
    if (d.family->mark && d.request->settings.value("mark", true))
      d.family->mark(kit, layout, *d.request, all[i].part);
  });
  std::vector<Part> parts;
  for (Derived& d : all) parts.push_back(std::move(d.part));
  return parts;
}

}  // namespace bedwright
