#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <map>

#include "base/clipped.h"
#include "base/numbers.h"
#include "gauge/read_mesh.h"
#include "kit/hardware.h"
#include "layout/base_profile.h"
#include "output/page_map.h"
#include "output/page_scene.h"
#include "output/steps.h"

namespace bedwright {
namespace {

constexpr std::size_t header_bytes = 80;
constexpr double plan_chord_mm = 0.05;
// A facet's middle lies within a chord of the curve it was made from, and lattice and float32 add next to nothing.
constexpr double on_wall_mm = 0.06, on_floor_mm = 0.02;
constexpr double across = 0.3, along = 0.9;  // of a facet's normal against the feature's axis

/// The file's facets in their order, equal corners as one vertex in the order they come.
Mesh welded_in_order(const Mesh& soup) {
  Mesh mesh;
  mesh.triangles.reserve(soup.triangles.size());
  std::map<std::array<double, 3>, std::uint32_t> seen;
  for (const auto& t : soup.triangles) {
    std::array<std::uint32_t, 3> corners{};
    for (std::size_t k = 0; k < 3; ++k) {
      const Vec3 p = soup.vertices[t[k]];
      const auto [at, fresh] =
          seen.emplace(std::array<double, 3>{p.x, p.y, p.z}, static_cast<std::uint32_t>(mesh.vertices.size()));
      if (fresh) mesh.vertices.push_back(p);
      corners[k] = at->second;
    }
    mesh.triangles.push_back(corners);
  }
  return mesh;
}

void put_little_endian(std::string& bytes, std::uint32_t v, int count) {
  for (int i = 0; i < count; ++i) bytes += static_cast<char>(v >> (8 * i) & 0xff);
}

std::string points_base64(const Mesh& mesh) {
  std::string bytes;
  bytes.reserve(mesh.vertices.size() * 12);
  for (const Vec3& p : mesh.vertices)
    for (const double v : {p.x, p.y, p.z}) {
      const float f = static_cast<float>(v) + 0.0f;
      std::uint32_t bits;
      std::memcpy(&bits, &f, sizeof bits);
      put_little_endian(bytes, bits, 4);
    }
  return base64(bytes);
}

std::string facets_base64(const Mesh& mesh, int width) {
  std::string bytes;
  bytes.reserve(mesh.triangles.size() * 3 * static_cast<std::size_t>(width));
  for (const auto& t : mesh.triangles)
    for (const std::uint32_t v : t) put_little_endian(bytes, v, width);
  return base64(bytes);
}

/// Says which feature each facet belongs to, by what the drawing says; part frame.
class Owners {
 public:
  explicit Owners(const Part& part) : part_(part), bearing_(part) {
    for (std::size_t i = 0; i < part.features.size(); ++i) {
      const Feature& f = part.features[i];
      if (f.profile.empty()) continue;
      Known k;
      k.index = i;
      k.rank = rank_of(f);
      for (const Loop& loop : f.profile) {
        const PlaneBox b = bounding_box(loop);
        k.box.low = {std::min(k.box.low.x, b.low.x - on_wall_mm), std::min(k.box.low.y, b.low.y - on_wall_mm)};
        k.box.high = {std::max(k.box.high.x, b.high.x + on_wall_mm), std::max(k.box.high.y, b.high.y + on_wall_mm)};
        k.area += area(loop);
      }
      known_.push_back(k);
    }
    // What is cut comes before what is added, narrow before wide.
    std::stable_sort(known_.begin(), known_.end(), [](const Known& a, const Known& b) {
      return a.rank != b.rank ? a.rank < b.rank : a.area < b.area;
    });
  }

  /// Index of the feature plus one; 0 for none.
  std::size_t of(Vec3 a, Vec3 b, Vec3 c) const {
    const Vec3 n = cross(b - a, c - a), middle = (1.0 / 3) * (a + b + c);
    const double size = length(n);
    if (!(size > 0)) return 0;
    const Vec3 normal = (1 / size) * n;
    for (const Known& k : known_)
      if (owns(k, normal, middle)) return k.index + 1;
    return part_.features.empty() ? 0 : 1;
  }

 private:
  struct Known {
    std::size_t index = 0;
    int rank = 0;
    PlaneBox box{{1e300, 1e300}, {-1e300, -1e300}};
    double area = 0;
  };

  static int rank_of(const Feature& f) {
    if (f.kind == FeatureKind::outline) return 3;
    if (f.kind == FeatureKind::seat) return 2;
    return f.effect == Effect::cut ? 0 : 1;
  }

  bool owns(const Known& k, Vec3 normal, Vec3 middle) const {
    const Feature& f = part_.features[k.index];
    const Vec2 p = in_plane(f.along, middle);
    if (p.x < k.box.low.x || p.y < k.box.low.y || p.x > k.box.high.x || p.y > k.box.high.y) return false;
    if (f.kind == FeatureKind::seat) return normal.z > 0.5 && bearing_.has({middle.x, middle.y});
    const double height = along_axis(f.along, middle), tilt = std::fabs(along_axis(f.along, normal));
    const auto flat = [](const Bound& b) { return b.kind == Bound::Kind::flat; };
    if (flat(f.from) && height < f.from.z_mm - on_floor_mm) return false;
    if (flat(f.to) && height > f.to.z_mm + on_floor_mm) return false;
    if (tilt < across)
      return std::any_of(f.profile.begin(), f.profile.end(),
                         [&](const Loop& loop) { return distance(loop, p) < on_wall_mm; });
    if (tilt < along || f.kind == FeatureKind::outline) return false;
    const bool at_end = (flat(f.from) && std::fabs(height - f.from.z_mm) < on_floor_mm) ||
                        (flat(f.to) && std::fabs(height - f.to.z_mm) < on_floor_mm);
    bool inside = false;
    for (const Loop& loop : f.profile)
      if (at_end && contains(loop, p)) inside = !inside;
    return inside;
  }

  const Part& part_;
  BearingArea bearing_;
  std::vector<Known> known_;
};

std::string owners_base64(const Part& part, const Mesh& mesh) {
  const Owners owners(part);
  std::string bytes;
  bytes.reserve(mesh.triangles.size() * 2);
  for (const auto& t : mesh.triangles)
    put_little_endian(
        bytes, static_cast<std::uint32_t>(owners.of(mesh.vertices[t[0]], mesh.vertices[t[1]], mesh.vertices[t[2]])), 2);
  return base64(bytes);
}

/// What a plan from above shows of a part: profiles of the features that are drawn along Z.
bool reaches_past(const Loop& loop, const Loop& outline) {
  const PlaneBox a = bounding_box(loop), b = bounding_box(outline);
  return a.low.x < b.low.x || a.low.y < b.low.y || a.high.x > b.high.x || a.high.y > b.high.y;
}

Json plan_json(const Part& part) {
  Json list = Json::array();
  const Loop* outline = nullptr;
  for (const Feature& f : part.features) {
    // An eased edge's profile is a strip that reaches past the part.
    if (crosses(f) || f.kind == FeatureKind::seat || f.kind == FeatureKind::chamfer) continue;
    if (f.kind == FeatureKind::outline) outline = &f.profile.front();
    Json loops = Json::array();
    for (const Loop& loop : f.profile) {
      std::vector<Vec2> ring = polygonised(loop, plan_chord_mm);
      // A slot that is open at the part's edge is drawn past it.
      if (f.effect == Effect::cut && outline && reaches_past(loop, *outline) && is_convex(ring))
        ring = clipped(polygonised(*outline, plan_chord_mm), ring);
      Json points = Json::array();
      for (Vec2 p : ring) points.push_back({std::round(p.x * 100) / 100 + 0.0, std::round(p.y * 100) / 100 + 0.0});
      loops.push_back(std::move(points));
    }
    list.push_back({{"id", f.id}, {"kind", to_text(f.kind)}, {"loops", std::move(loops)}});
  }
  return list;
}

Json part_json(const Kit& kit, const Report& report, const PagePart& page_part) {
  const PartReport& p = *page_part.report;
  const Mesh file = welded_in_order(read_stl(*page_part.stl, p.file));
  Mesh in_part = file;
  for (Vec3& v : in_part.vertices) v = apply(p.pose.print_to_part, v);
  const int width = file.vertices.size() <= 0xffff ? 2 : 4;
  Json quarters = p.part.quarter_turns;
  return {{"id", p.part.id},
          {"header", base64(page_part.stl->substr(0, header_bytes))},
          {"points", points_base64(file)},
          {"facets", facets_base64(file, width)},
          {"index_bytes", width},
          {"owners", owners_base64(p.part, in_part)},
          {"print_to_part", p.pose.print_to_part.m},
          {"quarter_turns", std::move(quarters)},
          {"support_mm3", rounded_6(p.pose.support_mm3)},
          {"foot_mm", rounded_length(p.pose.contact_width_mm)},
          {"places", page_places(kit, report, p, in_part)},
          {"plan", plan_json(p.part)},
          {"gaps", page_gaps(report, p, in_part)}};
}

double number_of(const char* table, const std::string& thread, const char* key) {
  for (const Json& row : hardware_table(table).at("rows"))
    if (row.at("thread") == thread && row.contains(key)) return row.at(key).get<double>();
  return 0;
}

/// What a section through the screw shows besides what the report says of it.
Json joint_json(const Joint& j) {
  const char* heads = j.head == "button" ? "button_screws" : "cap_screws";
  const ThreadSize* thread = find_thread(j.thread);
  return {{"id", j.id},
          {"purpose", j.purpose},
          {"thread_mm", thread ? thread->diameter_mm : 0},
          {"head_mm", number_of(heads, j.thread, "head_diameter_mm")},
          {"head_height_mm", number_of(heads, j.thread, "head_height_mm")},
          {"key_mm", number_of(heads, j.thread, "key_mm")},
          {"hole_mm", j.hole_mm > 0 ? rounded_length(j.hole_mm) : (thread ? thread->clearance_medium_mm : 0)},
          {"washer_outer_mm", j.washer_outer_mm > 0 ? j.washer_outer_mm : number_of("washers", j.thread, "outer_mm")},
          {"nut_washer_mm", rounded_length(j.nut_washer_mm)},
          {"nut_mm", number_of("nuts", j.thread, "across_flats_mm")}};
}

Json printing_json(const PrinterProfile& printer) {
  return {{"name", printer.name},
          {"nozzle_mm", printer.nozzle_mm ? Json(rounded_length(*printer.nozzle_mm)) : Json(nullptr)},
          {"bed_mm", point_json(printer.bed_mm)},
          {"layer_mm", rounded_length(printer.layer_mm)},
          {"first_layer_mm", rounded_length(printer.first_layer_mm)},
          {"line_mm", rounded_length(printer.line_mm)},
          {"walls", printer.walls},
          {"infill_percent", rounded_6(printer.infill_percent)},
          {"material", printer.material},
          {"hole_mm", rounded_length(printer.compensation.hole_mm)},
          {"outline_mm", rounded_length(printer.compensation.outline_mm)},
          {"height_mm", rounded_length(printer.compensation.height_mm)},
          {"calibrated",
           printer.calibrated ? Json(printer.calibrated->on + ", " + printer.calibrated->material) : Json(nullptr)}};
}

/// The report's document without what the page has no use for.
Json slim(Json document) {
  for (Json& p : document["parts"]) {
    p["pose"].erase("tried");
    p["pose"].erase("undersides");
    p.erase("print_to_part");
  }
  return document;
}

}  // namespace

Json page_data(const Kit& kit, const Report& report, const std::vector<PagePart>& parts, PageReader reader) {
  const bool own = reader == PageReader::owner;
  Json meshes = Json::array(), joints = Json::array(), holes = Json::array(), placements = Json::array();
  for (const PagePart& p : parts) meshes.push_back(part_json(kit, report, p));
  for (const JointSolution& s : report.joints) joints.push_back(joint_json(s.joint));
  for (const Placement& p : report.layout.placements) {
    Json near = Json::array();
    for (const FrameHole& h : p.holes)
      near.push_back({{"at_mm", point_json(h.at_mm - p.at)}, {"diameter_mm", rounded_length(h.diameter_mm)}});
    placements.push_back({{"id", p.id}, {"at_mm", point_json(p.at)}, {"holes", std::move(near)}});
  }
  const CarriageSize& c = kit.carriages.size;
  return {{"report", slim(report_document(report))},
          {"parts", std::move(meshes)},
          {"bodies", page_bodies(kit, report)},
          {"frame", page_frame(kit, report)},
          {"joints", std::move(joints)},
          {"placements", std::move(placements)},
          {"carriage",
           {{"size_mm", {rounded_length(c.width_mm), rounded_length(c.length_mm)}},
            {"holes_mm", {rounded_length(c.hole_across_mm), rounded_length(c.hole_along_mm)}},
            {"thread", c.thread},
            {"rail_mm", rounded_length(kit.rails.size.width_mm)}}},
          {"bed_size_mm", kit.bed ? point_json(kit.bed->size_mm) : Json(nullptr)},
          {"bed_map", own ? kit.bed_map : Json(nullptr)},
          {"bed_level", own ? page_bed_map(kit, report.layout) : Json(nullptr)},
          {"printing", printing_json(kit.printer)},
          {"last_word", last_word}};
}

}  // namespace bedwright
