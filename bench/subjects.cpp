#include "subjects.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/error.h"
#include "base/trig.h"
#include "kit/read_kit.h"
#include "layout/layout.h"

namespace bench {

using namespace bedwright;

namespace {

Part part_of(const Kit& kit, const std::string& id) {
  for (const Part& part : derive_parts(kit, settle(kit)))
    if (part.id == id) return part;
  throw Error("no part " + id);
}

Subject from(const std::string& name, const std::vector<Setting>& settings, const std::string& id) {
  Subject s{read_kit_file(kit_path(name), settings), {}};
  s.part = part_of(s.kit, id);
  return s;
}

/// Least facets of an arc of `sweep` within `chord` of it.
double arc_facets(double radius, double sweep, double chord) {
  return std::ceil(sweep / (2 * std::acos(1 - chord / radius)) - 1e-9);
}

std::size_t loop_vertices(const Loop& loop, double chord) {
  if (loop.circle) return static_cast<std::size_t>(arc_facets(loop.radius, 2 * pi, chord));
  std::size_t n = 0;
  for (const Curve& c : loop.curves)
    n += c.arc ? static_cast<std::size_t>(arc_facets(c.radius, std::fabs(span_of(c).sweep), chord)) : 1;
  return n;
}

}  // namespace

std::string kit_path(const std::string& name) {
  return std::string(BENCH_KITS) + "/" + name + ".json";
}

Subject subject(const std::string& name) {
  if (name == "plate" || name == "plate-r800") {
    std::vector<Setting> settings = {{"/parts/0/bottom_chamfer_mm", "0"}};
    if (name == "plate-r800") settings.push_back({"/frame/dome/radius_mm", "800"});
    return from("north-bench", settings, "adapter-a");
  }
  if (name == "overlapping")
    return from("every-option-down",
                {{"/parts/0/bottom_chamfer_mm", "0"}, {"/frame/hole_pattern/holes/6/at_mm", "[-103.7,78]"}},
                "adapter-c");
  if (name == "crossing") return from("whole-bench", {}, "bracket-front-left");
  throw Error("no subject " + name);
}

Part direct_body(const Part& part) {
  Part body = part;
  body.features.erase(std::remove_if(body.features.begin(), body.features.end(), crosses), body.features.end());
  return body;
}

Mesh subdivided(const Mesh& mesh, int n) {
  Mesh out;
  std::map<std::array<std::uint32_t, 4>, std::uint32_t> known;
  const auto corner = [&](const std::array<std::uint32_t, 3>& t, std::array<int, 3> share) {
    // Named by the corners that count, in rising order, so that a neighbour finds the same point.
    std::array<std::pair<std::uint32_t, int>, 3> named{{{t[0], share[0]}, {t[1], share[1]}, {t[2], share[2]}}};
    std::sort(named.begin(), named.end());
    const int inside = std::count_if(named.begin(), named.end(), [](const auto& p) { return p.second > 0; });
    Vec3 at{};
    for (const auto& [v, k] : named) at = at + (double(k) / n) * mesh.vertices[v];
    std::array<std::uint32_t, 4> key{};
    if (inside == 3) {
      out.vertices.push_back(at);
      return static_cast<std::uint32_t>(out.vertices.size() - 1);
    }
    std::size_t i = 0;
    for (const auto& [v, k] : named)
      if (k > 0) {
        key[i++] = v + 1;
        key[i++] = static_cast<std::uint32_t>(k);
      }
    const auto [place, fresh] = known.try_emplace(key, static_cast<std::uint32_t>(out.vertices.size()));
    if (fresh) out.vertices.push_back(at);
    return place->second;
  };
  for (const auto& t : mesh.triangles) {
    std::vector<std::vector<std::uint32_t>> rows(n + 1);
    for (int i = 0; i <= n; ++i)
      for (int j = 0; j <= n - i; ++j) rows[i].push_back(corner(t, {n - i - j, i, j}));
    for (int i = 0; i < n; ++i)
      for (int j = 0; j < n - i; ++j) {
        out.triangles.push_back({rows[i][j], rows[i + 1][j], rows[i][j + 1]});
        if (j + 1 < n - i) out.triangles.push_back({rows[i + 1][j], rows[i + 1][j + 1], rows[i][j + 1]});
      }
  }
  return out;
}

std::size_t forced_vertices(const Part& part) {
  std::size_t n = 0;
  for (const Feature& f : part.features)
    if (f.effect != Effect::none)
      for (const Loop& loop : f.profile) n += 2 * loop_vertices(loop, part.chord_mm);
  return n;
}

}  // namespace bench
