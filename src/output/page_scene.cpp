#include "output/page_scene.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/numbers.h"
#include "checks/seat_gap.h"
#include "layout/base_profile.h"
#include "layout/heights.h"

namespace bedwright {
namespace {

constexpr double thin_base_mm = 2, thin_bed_mm = 3, stop_wide_mm = 4;  // drawn so where the kit says nothing
constexpr double sheet_edge_mm = 12;                                   // of sheet beyond its outermost hole
constexpr int sheet_squares = 32, gap_squares = 14;
constexpr double upward = 0.5;

Json corners(Vec2 low, Vec2 high) {
  return {point_json(low), point_json(Vec2{high.x, low.y}), point_json(high), point_json(Vec2{low.x, high.y})};
}

Json body(const std::string& name, const char* kind, int layer, Json outline, double z0, double z1) {
  return {{"name", name},
          {"kind", kind},
          {"layer", layer},
          {"outline_mm", std::move(outline)},
          {"z_mm", {rounded_length(z0), rounded_length(z1)}}};
}

PlaneBox sheet_box(const Kit& kit) {
  PlaneBox box{{1e300, 1e300}, {-1e300, -1e300}};
  for (const std::vector<FrameHole>* holes : {&kit.frame.holes, &kit.frame.mounts})
    for (const FrameHole& h : *holes) {
      box.low = {std::min(box.low.x, h.at_mm.x), std::min(box.low.y, h.at_mm.y)};
      box.high = {std::max(box.high.x, h.at_mm.x), std::max(box.high.y, h.at_mm.y)};
    }
  return {box.low - Vec2{sheet_edge_mm, sheet_edge_mm}, box.high + Vec2{sheet_edge_mm, sheet_edge_mm}};
}

std::optional<double> underside_at(const Report& report, Vec2 p) {
  return height_if_known(report.layout.underside, p);
}

/// The printed plate that takes the sheet's place, if there is one.
const Part* support_plate(const Report& report) {
  for (const PartReport& p : report.parts)
    if (p.part.family == "support_plate") return &p.part;
  return nullptr;
}

/// What the spacers under the bed stand on.
std::optional<double> frame_top_at(const Kit& kit, const Report& report, Vec2 p) {
  if (const Part* plate = support_plate(report)) return plate->settings.at("standoff_mm").get<double>();
  const std::optional<double> z = underside_at(report, p);
  return z ? std::optional<double>(*z + kit.frame.sheet_thickness_mm) : std::nullopt;
}

double bed_low_mm(const Kit& kit, const Report& report) {
  const double thick = kit.bed->thickness_mm.value_or(thin_bed_mm);
  if (report.machine.heights.bed) return base_face_mm(kit) + report.machine.heights.bed->sum_mm() - thick;
  double stand = kit.bed->stand_mm;
  for (const PartReport& p : report.parts)
    if (p.part.id == kit.bed->spacer) stand += p.box_mm.z;
  return report.layout.height_mm + kit.frame.sheet_thickness_mm + stand;
}

bool stands_under_bed(const Kit& kit, const Part& part) {
  if (!part.placements.empty() || part.stands_at || kit.frame.mounts.empty()) return false;
  if (kit.bed && !kit.bed->spacer.empty()) return part.id == kit.bed->spacer;
  return part.family == "spacer" && part.quantity == static_cast<int>(kit.frame.mounts.size());
}

struct SeatFacets {
  std::vector<std::array<Vec3, 3>> list;  ///< machine frame, face up where the sheet must bear
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
};

Transform at_placement(const Report& report, const Part& part, std::size_t i) {
  for (const Placement& p : report.layout.placements)
    if (p.id == part.placements[i])
      return compose(shift({p.at.x, p.at.y, 0}),
                     quarter_turn(2, i < part.quarter_turns.size() ? part.quarter_turns[i] : 0));
  return {};
}

/// Facets that look up where the sheet must bear, part frame.
std::vector<std::array<Vec3, 3>> bearing_facets(const Part& part, const Mesh& mesh) {
  std::vector<std::array<Vec3, 3>> facets;
  const BearingArea area(part);
  for (const auto& t : mesh.triangles) {
    const Vec3 a = mesh.vertices[t[0]], b = mesh.vertices[t[1]], c = mesh.vertices[t[2]];
    const Vec3 normal = cross(b - a, c - a), middle = (1.0 / 3) * (a + b + c);
    if (normal.z > upward * length(normal) && area.has({middle.x, middle.y})) facets.push_back({a, b, c});
  }
  return facets;
}

SeatFacets placed(const std::vector<std::array<Vec3, 3>>& bearing, const Transform& to_machine) {
  SeatFacets facets;
  for (const auto& [a, b, c] : bearing) {
    facets.list.push_back({apply(to_machine, a), apply(to_machine, b), apply(to_machine, c)});
    for (const Vec3& p : facets.list.back()) {
      facets.low = {std::min(facets.low.x, p.x), std::min(facets.low.y, p.y)};
      facets.high = {std::max(facets.high.x, p.x), std::max(facets.high.y, p.y)};
    }
  }
  return facets;
}

std::optional<double> height_on(const SeatFacets& facets, Vec2 p) {
  for (const auto& [a, b, c] : facets.list) {
    const auto side = [&](Vec3 u, Vec3 v) { return cross(Vec2{v.x - u.x, v.y - u.y}, Vec2{p.x - u.x, p.y - u.y}); };
    const double wa = side(b, c), wb = side(c, a), wc = side(a, b), sum = wa + wb + wc;
    if (wa < 0 || wb < 0 || wc < 0 || sum <= 0) continue;
    return (wa * a.z + wb * b.z + wc * c.z) / sum;
  }
  return std::nullopt;
}

/// How far a spacer under the sheet stands raised; plates stand on the carriages.
double raised_mm(const Report& report, const Part& part, const SeatFacets& facets) {
  if (part.family == "adapter_plate") return 0;
  std::optional<double> least;
  for (const auto& facet : facets.list)
    for (const Vec3& p : facet)
      if (const auto z = underside_at(report, {p.x, p.y})) least = std::min(least.value_or(1e300), *z - p.z);
  return least.value_or(0);
}

bool follows_frame(const Report& report, const Part& part) {
  return std::any_of(report.seat_gaps.begin(), report.seat_gaps.end(),
                     [&](const SeatGap& g) { return g.part == part.id && g.bears_mm2 > 0; });
}

Json matrix_json(const Transform& t) {
  Json m = Json::array();
  for (const double v : t.m) m.push_back(rounded_length(v));
  return m;
}

}  // namespace

Json page_bodies(const Kit& kit, const Report& report) {
  Json bodies = Json::array();
  const double face = base_face_mm(kit), foot = -kit.carriages.size.assembly_height_mm;
  const double rail_top = foot + kit.rails.size.height_mm, half = kit.rails.length_mm / 2;
  if (kit.base) {
    const double thick = kit.base->thickness_mm > 0 ? kit.base->thickness_mm : thin_base_mm;
    Json outline = Json::array(), holes = Json::array();
    for (Vec2 p : kit.base->outline_mm) outline.push_back(point_json(p));
    for (const BaseArea& o : kit.base->openings) holes.push_back(corners(o.low, o.high));
    bodies.push_back(body("base of the machine", "base", 0, std::move(outline), face - thick, face));
    bodies.back()["holes_mm"] = std::move(holes);
    for (const BaseArea& r : kit.base->raised)
      bodies.push_back(body("base: " + r.id, "base", 0, corners(r.low, r.high), face, face + r.height_mm));
  }
  for (const RailLine& rail : report.machine.rails) {
    const double wide = kit.rails.size.width_mm / 2, lift = kit.rails.lift_mm;
    if (lift > 0)
      bodies.push_back(body("spacer under the " + rail.side + " rail", "base", 1,
                            corners({rail.x_mm - wide, -half}, {rail.x_mm + wide, half}), face, foot));
    bodies.push_back(body(rail.side + " rail", "rail", 2, corners({rail.x_mm - wide, -half}, {rail.x_mm + wide, half}),
                          foot, rail_top));
    if (kit.rails.stops) {
      const double front = kit.rails.stops->front_mm, rear = kit.rails.stops->rear_mm;
      if (front > 0)
        bodies.push_back(
            body(rail.side + " rail: front stop", "stop", 2,
                 corners({rail.x_mm - wide - stop_wide_mm, -half}, {rail.x_mm + wide + stop_wide_mm, -half + front}),
                 rail_top, rail_top + stop_wide_mm));
      if (rear > 0)
        bodies.push_back(
            body(rail.side + " rail: rear stop", "stop", 2,
                 corners({rail.x_mm - wide - stop_wide_mm, half - rear}, {rail.x_mm + wide + stop_wide_mm, half}),
                 rail_top, rail_top + stop_wide_mm));
    }
  }
  const Vec2 carriage{kit.carriages.size.width_mm / 2, kit.carriages.size.length_mm / 2};
  for (const Placement& p : report.layout.placements)
    bodies.push_back(body("carriage " + p.id, "carriage", 3, corners(p.at - carriage, p.at + carriage),
                          foot + kit.rails.size.height_mm / 2, 0));
  if (kit.bed) {
    const Vec2 size = 0.5 * kit.bed->size_mm;
    const double low = bed_low_mm(kit, report);
    bodies.push_back(
        body("bed", "bed", 7, corners(-size, size), low, low + kit.bed->thickness_mm.value_or(thin_bed_mm)));
  }
  return bodies;
}

Json page_places(const Kit& kit, const Report& report, const PartReport& part, const Mesh& mesh) {
  Json places = Json::array();
  const Part& p = part.part;
  const auto put = [&](const std::string& where, int layer, const Transform& t) {
    places.push_back({{"where", where}, {"layer", layer}, {"matrix", matrix_json(t)}});
  };
  // Plates stand on their carriages; only what is raised to the sheet asks where it bears.
  const bool raised = follows_frame(report, p) && p.family != "adapter_plate";
  const auto bearing = raised ? bearing_facets(p, mesh) : std::vector<std::array<Vec3, 3>>();
  for (std::size_t i = 0; i < p.placements.size(); ++i) {
    Transform t = at_placement(report, p, i);
    if (raised) t = compose(shift({0, 0, raised_mm(report, p, placed(bearing, t))}), t);
    put(p.placements[i], 4, t);
  }
  if (p.family == "support_plate") put("on the carriages", 4, {});
  if (p.stands_at) put("on the base", 1, shift(*p.stands_at));
  if (stands_under_bed(kit, p))
    for (const FrameHole& mount : kit.frame.mounts)
      if (const auto z = frame_top_at(kit, report, mount.at_mm))
        put("bed mount " + mount.id, 6, shift({mount.at_mm.x, mount.at_mm.y, *z}));
  return places;
}

Json page_frame(const Kit& kit, const Report& report) {
  if (kit.frame.holes.empty() && kit.frame.mounts.empty()) return nullptr;
  const PlaneBox box = sheet_box(kit);
  Json xs = Json::array(), ys = Json::array(), rows = Json::array();
  const auto along = [](double from, double to, int i) { return from + (to - from) * i / sheet_squares; };
  for (int i = 0; i <= sheet_squares; ++i) {
    xs.push_back(rounded_length(along(box.low.x, box.high.x, i)));
    ys.push_back(rounded_length(along(box.low.y, box.high.y, i)));
  }
  for (int k = 0; k <= sheet_squares; ++k) {
    Json row = Json::array();
    for (int i = 0; i <= sheet_squares; ++i) {
      const auto z = underside_at(report, {along(box.low.x, box.high.x, i), along(box.low.y, box.high.y, k)});
      row.push_back(z ? Json(rounded_length(*z)) : Json(nullptr));
    }
    rows.push_back(std::move(row));
  }
  const auto spots = [&](const std::vector<FrameHole>& holes) {
    Json list = Json::array();
    for (const FrameHole& h : holes) {
      const auto z = underside_at(report, h.at_mm);
      list.push_back({{"id", h.id},
                      {"at_mm", point_json(h.at_mm)},
                      {"diameter_mm", rounded_length(h.diameter_mm)},
                      {"z_mm", z ? Json(rounded_length(*z)) : Json(nullptr)}});
    }
    return list;
  };
  return {{"x_mm", std::move(xs)},
          {"y_mm", std::move(ys)},
          {"replaced", support_plate(report) != nullptr},
          {"z_mm", std::move(rows)},
          {"thickness_mm", rounded_length(kit.frame.sheet_thickness_mm)},
          {"holes", spots(kit.frame.holes)},
          {"mounts", spots(kit.frame.mounts)}};
}

Json page_gaps(const Report& report, const PartReport& part, const Mesh& mesh) {
  Json gaps = Json::array();
  const Part& p = part.part;
  if (!follows_frame(report, p)) return gaps;
  const auto bearing = bearing_facets(p, mesh);
  for (std::size_t i = 0; i < p.placements.size(); ++i) {
    const SeatFacets facets = placed(bearing, at_placement(report, p, i));
    if (facets.list.empty()) continue;
    const double raised = raised_mm(report, p, facets);
    const Vec2 size = facets.high - facets.low;
    const double square = std::max(size.x, size.y) / gap_squares;
    const int across = std::max(1, static_cast<int>(std::ceil(size.x / square - 1e-6)));
    const int deep = std::max(1, static_cast<int>(std::ceil(size.y / square - 1e-6)));
    Json rows = Json::array();
    for (int k = 0; k < deep; ++k) {
      Json row = Json::array();
      for (int n = 0; n < across; ++n) {
        const Vec2 at = facets.low + square * Vec2{n + 0.5, k + 0.5};
        const auto z = height_on(facets, at);
        const auto sheet = z ? underside_at(report, at) : std::nullopt;
        row.push_back(sheet ? Json(std::round((*sheet - *z - raised) * 1e4) / 10 + 0.0) : Json(nullptr));
      }
      rows.push_back(std::move(row));
    }
    gaps.push_back({{"placement", p.placements[i]},
                    {"low_mm", point_json(facets.low)},
                    {"square_mm", rounded_length(square)},
                    {"um", std::move(rows)}});
  }
  return gaps;
}

}  // namespace bedwright
