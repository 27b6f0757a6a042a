#include "output/level_sheet.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "base/sha256.h"
#include "base/trig.h"
#include "gauge/read_mesh.h"
#include "output/write_stl.h"
#include "parts/marks.h"
#include "parts/shim.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double pad_mm = 18;    ///< washer's place: width of the shim, and its length round the screw
constexpr double washer_mm = 6;  ///< radius round the screw that marks stay out of
constexpr double shortest_mm = 44, longest_mm = 120, longer_by_mm = 4;
constexpr double between_mm = 5;  ///< parts on the sheet
constexpr double least_taper_mm = 0.05;

std::string capitals(std::string text) {
  for (char& c : text)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return text;
}

/// "FL" for front-left; the id itself for a mount with a name of its own.
std::string corner_of(const std::string& mount) {
  const std::size_t dash = mount.find('-');
  const bool placement = std::find(placement_ids.begin(), placement_ids.end(), mount) != placement_ids.end();
  return placement ? capitals(mount.substr(0, 1) + mount.substr(dash + 1, 1)) : capitals(mount);
}

double hole_of(const Kit& kit, const std::string& mount) {
  for (const FrameHole& hole : kit.frame.mounts)
    if (hole.id == mount) return hole.diameter_mm;
  return 4.5;
}

struct Wanted {
  std::string mount;
  double mm = 0;
  int layers = 0;
  Vec2 slope{};  ///< tapered where not null, mm per mm
};

PartRequest request_for(const Kit& kit, const LevelReport& level, const Wanted& w, double length_mm) {
  PartRequest request;
  request.id = "shim-" + w.mount;
  request.family = "shim";
  request.quantity = 1;
  Json label = {corner_of(w.mount), std::to_string(w.layers) + "L", level.map_date};
  for (const std::string& word : words_of_id(kit.name)) label.push_back(word);
  for (const std::string& word : words_of_id(kit.revision)) label.push_back(word);
  const bool tab = level.shim_at != "carriages";
  Json settings = {
      {"id", request.id},      {"family", "shim"}, {"thickness_mm", w.mm}, {"outline", tab ? "rectangle" : "carriage"},
      {"corner_radius_mm", 2}, {"notches", true},  {"label", label},       {"mark", true}};
  double thickness = w.mm;
  Vec2 hole{};
  if (tab) {
    hole = {pad_mm / 2 - length_mm / 2, 0};
    settings["size_mm"] = {length_mm, pad_mm};
    settings["hole_mm"] = hole_of(kit, w.mount);
    settings["hole_at_mm"] = {hole.x, hole.y};
  }
  if (w.slope.x != 0 || w.slope.y != 0) {
    // As thick as wanted where the screw is.
    thickness = std::max(thickness - dot(w.slope, hole), kit.printer.first_layer_mm);
    settings["thickness_mm"] = rounded_length(thickness);
    settings["taper_um_per_mm"] = 1000 * length(w.slope);
    settings["taper_toward_deg"] = atan2_rad(w.slope.y, w.slope.x) / rad_per_deg;
  }
  request.settings = settings;
  request.pointer = "/bed_map/shims";
  return request;
}

Part part_for(const Kit& kit, const Layout& layout, const PartRequest& request, const Wanted& w) {
  Part part = derive_shims(kit, layout, request).at(0);
  part.quantity = 1;
  mark_shim(kit, layout, request, part);
  part.statements.push_back("goes under " + w.mount + (w.slope.x != 0 || w.slope.y != 0 ? ", tab to the right" : ""));
  return part;
}

bool marks_clear_of_washer(const Part& part, double length_mm) {
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::mark)
      for (const Loop& loop : f.profile)
        if (bounding_box(loop).low.x < pad_mm / 2 - length_mm / 2 + washer_mm) return false;
  return part.visible_mark;
}

/// The shortest tab that holds the words; the longest one where none does.
Part shortest_part(const Kit& kit, const Layout& layout, const LevelReport& level, const Wanted& w,
                   PartRequest& request) {
  const double most = std::min(longest_mm, std::max(kit.printer.bed_mm.x, kit.printer.bed_mm.y) - 2 * between_mm);
  for (double length_mm = shortest_mm;; length_mm += longer_by_mm) {
    request = request_for(kit, level, w, length_mm);
    Part part = part_for(kit, layout, request, w);
    const bool engravable = w.layers > 1;
    // A tapered tab grows thicker with its length: there the marks may come near the washer.
    const bool tapered = w.slope.x != 0 || w.slope.y != 0;
    if (marks_clear_of_washer(part, length_mm) || (tapered && part.visible_mark) || !engravable ||
        length_mm + longer_by_mm > most || level.shim_at == "carriages")
      return part;
  }
}

struct Laid {
  Mesh mesh;
  std::vector<std::string> placed;
  Vec2 size{};
};

/// Rows from the front left, parts of one sheet 5 mm apart, the whole about the sheet's middle; shifts in whole
/// millimetres, so that coordinates stay exact.
Laid lay_out(const std::vector<MadePart>& parts, Vec3 bed) {
  struct Place {
    Mesh mesh;
    Box box;
    Vec2 at;
  };
  std::vector<Place> places;
  double x = 0, y = 0, row = 0;
  Laid laid;
  for (const MadePart& part : parts) {
    Place p{in_print_frame(part.solid, part.report.pose), {}, {}};
    p.box = bounding_box(p.mesh);
    const double width = std::ceil(p.box.high.x - p.box.low.x), depth = std::ceil(p.box.high.y - p.box.low.y);
    if (x > 0 && x + width > bed.x - 2 * between_mm) {
      x = 0;
      y += row + between_mm;
      row = 0;
    }
    p.at = {x + std::ceil(width / 2), y + std::ceil(depth / 2)};
    x += width + between_mm;
    row = std::max(row, depth);
    laid.size = {std::max(laid.size.x, x - between_mm), std::max(laid.size.y, y + row)};
    places.push_back(std::move(p));
  }
  const Vec2 middle{std::floor(laid.size.x / 2), std::floor(laid.size.y / 2)};
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Vec2 at = places[i].at - middle;
    const auto first = static_cast<std::uint32_t>(laid.mesh.vertices.size());
    for (Vec3 v : places[i].mesh.vertices) laid.mesh.vertices.push_back(v + Vec3{at.x, at.y, 0});
    for (const auto& t : places[i].mesh.triangles)
      laid.mesh.triangles.push_back({t[0] + first, t[1] + first, t[2] + first});
    laid.placed.push_back(parts[i].report.part.id + " at " + decimal(at.x, 0) + ", " + decimal(at.y, 0));
  }
  return laid;
}

Finding sheet_finding(const std::string& message, const std::string& remedy) {
  Finding f;
  f.code = "shim-sheet";
  f.severity = Severity::error;
  f.message = message;
  f.remedy = remedy;
  return f;
}

}  // namespace

ShimSheet make_shim_sheet(const Kit& kit, const Layout& layout, const LevelReport& level) {
  std::vector<Wanted> wanted;
  const double drop = length(level.result.tilt) * pad_mm;
  const bool tapers = drop > std::max(least_taper_mm, level.layer_mm) && level.shim_at != "carriages";
  for (std::size_t i = 0; i < level.input.mounts.size(); ++i) {
    const double mm = level.result.plan.shim_mm[i];
    if (mm <= 0 || std::fabs(mm - level.input.now_mm[i]) < 1e-6) continue;
    const ShimChoice& choice = level.input.choices[static_cast<std::size_t>(level.result.plan.choice[i])];
    if (choice.layers == 0) throw BadUsage("--out: these shims come from stock; there is nothing to print");
    wanted.push_back({level.input.mounts[i].id, mm, choice.layers, tapers ? level.result.tilt : Vec2{}});
  }
  if (wanted.empty()) throw BadUsage("--out: no new shim is needed; nothing was written");

  Kit own = kit;
  own.parts.clear();
  std::vector<MadePart> made;
  std::vector<Finding> failures;
  for (const Wanted& w : wanted) {
    PartRequest request;
    try {
      made.push_back(make_part(kit, shortest_part(kit, layout, level, w, request)));
      own.parts.push_back(request);
    } catch (const CannotBuild& e) {
      failures.push_back(finding_of(e, "shim-" + w.mount));
    }
  }
  // Shims of one thickness are told apart by their marks alone: nothing is compared with its neighbours.
  for (MadePart& part : made) {
    std::vector<MadePart> alone = {part};
    compare_made(alone, 0);
    part = alone[0];
  }
  ShimSheet sheet;
  sheet.report = assemble(own, layout, made, failures);
  Report& r = sheet.report;
  // Of the machine's own findings a sheet of shims says nothing.
  r.findings.erase(
      std::remove_if(r.findings.begin(), r.findings.end(), [](const Finding& f) { return f.part.empty(); }),
      r.findings.end());
  r.joints.clear();
  r.hardware.clear();
  r.steps.clear();
  int n = 0;
  for (std::size_t i = 0; i < made.size(); ++i) {
    Step step;
    step.n = ++n;
    step.what = "Put " + made[i].report.part.id + " (" + decimal(wanted[i].mm, 2) + " mm) under the " +
                wanted[i].mount + " mount, in place of what is there; tighten that screw as before.";
    step.parts = {made[i].report.part.id};
    r.steps.push_back(step);
  }
  if (has_error(r.findings) || made.empty()) return sheet;

  const Laid laid = lay_out(made, kit.printer.bed_mm);
  if (laid.size.x > kit.printer.bed_mm.x || laid.size.y > kit.printer.bed_mm.y) {
    r.findings.push_back(
        sheet_finding("the shims do not fit on one print bed together",
                      "use a printer with a larger bed (printer.bed_mm), or shim one side first and map again"));
    return sheet;
  }
  const std::string sheet_name = "shims-sheet.stl";
  const std::string bytes = to_stl(laid.mesh, kit.name, "shims-sheet", kit.revision);
  const Measurement measured = measure(read_stl(bytes, sheet_name));
  double parts_mm3 = 0;
  for (const MadePart& part : made) parts_mm3 += part.report.volume_mm3;
  if (!measured.health.closed || !measured.health.oriented || measured.health.self_intersections > 0 ||
      !measured.health.all_asked || measured.health.pieces != static_cast<int>(made.size()) ||
      std::fabs(measured.volume_mm3 - parts_mm3) > 1e-3 * parts_mm3)
    throw CannotBuild("shim-sheet", "the sheet does not read back as its " + std::to_string(made.size()) + " shims",
                      "report this with the kit and the map: it is a fault of bedwright");
  sheet.placed = laid.placed;
  for (const MadePart& part : made) sheet.files[part.report.file] = part.bytes;
  sheet.files[sheet_name] = bytes;
  r.files = {"report.json", sheet_name};
  for (const MadePart& part : made) r.files.push_back(part.report.file);
  sheet.files["report.json"] = to_json(r);
  return sheet;
}

}  // namespace bedwright
