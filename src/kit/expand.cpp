#include "kit/expand.h"

#include <algorithm>
#include <cmath>

#include "base/loop.h"
#include "base/numbers.h"
#include "base/trig.h"
#include "kit/hardware.h"
#include "kit/pointer.h"

namespace bedwright {
namespace {

double number(const Json& object, const char* key, double otherwise = 0) {
  const auto found = object.find(key);
  return found == object.end() ? otherwise : found->get<double>();
}

std::optional<double> maybe_number(const Json& object, const char* key) {
  const auto found = object.find(key);
  if (found == object.end()) return std::nullopt;
  return found->get<double>();
}

std::string text(const Json& object, const char* key, const std::string& otherwise = "") {
  const auto found = object.find(key);
  return found == object.end() ? otherwise : found->get<std::string>();
}

Vec2 pair(const Json& object, const char* key) {
  const auto found = object.find(key);
  if (found == object.end()) return {};
  return {(*found)[0].get<double>(), (*found)[1].get<double>()};
}

Dome to_dome(const Json& j) {
  Dome dome;
  dome.shape = text(j, "shape");
  if (dome.shape == "flat") return dome;
  dome.crown_up = text(j, "crown") == "up";
  dome.radius_mm = number(j, "radius_mm");
  dome.radius_x_mm = number(j, "radius_x_mm");
  dome.radius_y_mm = number(j, "radius_y_mm");
  dome.axis = text(j, "axis", "y");
  dome.apex_mm = pair(j, "apex_mm");
  dome.measured_on_upper = text(j, "measured_on") == "upper";
  dome.points_file = text(j, "points");
  return dome;
}

FrameSettings to_frame(const Json& j) {
  FrameSettings frame;
  frame.sheet_thickness_mm = number(j, "sheet_thickness_mm");
  frame.mass_g = number(j, "mass_g");
  frame.material = text(j, "material");
  frame.dome = to_dome(j.at("dome"));
  frame.holes = expand_pattern(j.at("hole_pattern"));
  if (j.contains("bed_mounts")) frame.mounts = expand_pattern(j["bed_mounts"]);
  frame.reach_mm = number(j, "reach_mm");
  return frame;
}

RailSettings to_rails(const Json& j) {
  RailSettings rails;
  rails.size = *find_rail(text(j, "size"));
  rails.size.height_mm = number(j, "height_mm", rails.size.height_mm);
  rails.size.hole_pitch_mm = number(j, "hole_pitch_mm", rails.size.hole_pitch_mm);
  rails.size.end_distance_mm = number(j, "end_distance_mm", rails.size.end_distance_mm);
  rails.pitch_mm = number(j, "pitch_mm");
  rails.length_mm = number(j, "length_mm");
  rails.travel_mm = number(j, "travel_mm");
  rails.end_margin_mm = number(j, "end_margin_mm");
  if (j.contains("reference")) rails.reference = text(j, "reference");
  rails.lift_mm = number(j, "lift_mm");
  rails.lift_plus_minus_mm = number(j, "lift_plus_minus_mm");
  if (j.contains("stops_mm")) {
    const Vec2 stops = pair(j, "stops_mm");
    rails.stops = RailStops{stops.x, stops.y};
  }
  for (const Json& pad : j.value("pads", Json::array()))
    rails.pads.push_back({number(pad, "from_mm"), number(pad, "to_mm"), number(pad, "stiffness_n_per_mm")});
  for (const Json& row : hardware_table("rails").at("rows"))
    if (row.at("id") == rails.size.id) rails.under_head_mm = row.at("under_head_mm").get<double>();
  rails.under_head_mm = number(j, "under_head_mm", rails.under_head_mm);
  if (j.contains("base")) {
    const Json& base = j["base"];
    rails.base = RailBase{text(base, "kind"),         number(base, "depth_mm"),        base.value("blind", false),
                          number(base, "between_mm"), text(base, "behind", "nothing"), maybe_number(base, "clear_mm")};
  }
  return rails;
}

CarriageSettings to_carriages(const Json& j) {
  CarriageSettings carriages;
  CarriageSize& size = carriages.size;
  size = *find_carriage(text(j, "size"));
  size.assembly_height_mm = number(j, "height_mm", size.assembly_height_mm);
  size.width_mm = number(j, "width_mm", size.width_mm);
  size.length_mm = number(j, "length_mm", size.length_mm);
  if (j.contains("hole_pitch_mm")) {
    const Vec2 pitch = pair(j, "hole_pitch_mm");
    size.hole_across_mm = pitch.x;
    size.hole_along_mm = pitch.y;
  }
  size.thread = text(j, "thread", size.thread);
  size.thread_depth_mm = number(j, "thread_depth_mm", size.thread_depth_mm);
  size.mass_g = number(j, "mass_g", size.mass_g);
  carriages.spacing_mm = number(j, "spacing_mm");
  carriages.clearance_um = number(j, "clearance_um", typical_clearance_um(text(j, "preload", "clearance")));
  for (const Json& one : j.value("measured", Json::array())) {
    MeasuredCarriage c;
    c.id = text(one, "id");
    c.rail = text(one, "rail");
    c.height_mm = number(one, "height_mm");
    c.length_mm = maybe_number(one, "length_mm");
    if (one.contains("hole_pitch_mm")) c.hole_pitch_mm = pair(one, "hole_pitch_mm");
    carriages.measured.push_back(std::move(c));
  }
  if (j.contains("pad_heights_mm")) {
    std::array<double, 4> heights{};
    for (std::size_t i = 0; i < heights.size(); ++i) heights[i] = j["pad_heights_mm"][i].get<double>();
    carriages.pad_heights_mm = heights;
  }
  return carriages;
}

PrinterProfile to_printer(const Json& j) {
  PrinterProfile printer;
  const Json& bed = j.at("bed_mm");
  printer.bed_mm = {bed[0].get<double>(), bed[1].get<double>(), bed[2].get<double>()};
  printer.layer_mm = number(j, "layer_mm");
  printer.first_layer_mm = number(j, "first_layer_mm");
  printer.line_mm = number(j, "line_mm");
  printer.material = text(j, "material");
  const Json& compensation = j.at("compensation");
  printer.compensation = {number(compensation, "hole_mm"), number(compensation, "outline_mm"),
                          number(compensation, "height_mm")};
  printer.name = text(j, "name");
  printer.nozzle_mm = maybe_number(j, "nozzle_mm");
  if (j.contains("calibrated")) {
    const Json& c = j["calibrated"];
    printer.calibrated = Calibrated{text(c, "on"), text(c, "material"), maybe_number(c, "nozzle_mm")};
  }
  printer.infill_percent = number(j, "infill_percent");
  printer.walls = static_cast<int>(number(j, "walls"));
  PrintWishes& w = printer.wishes;
  w.overhang_deg = number(j, "overhang_deg");
  w.bridge_mm = number(j, "bridge_mm");
  w.seat_step_mm = number(j, "seat_step_mm");
  w.cooling_from = text(j, "cooling_from", "");
  w.part_gap_mm = number(j, "part_gap_mm");
  w.bed_edge_mm = number(j, "bed_edge_mm");
  w.beds = text(j, "beds");
  w.sets = static_cast<int>(number(j, "sets"));
  w.prints_itself = j.at("prints_itself").get<bool>();
  return printer;
}

DrawingSettings to_drawing(const Json& j) {
  return {text(j, "angle") == "third", text(j, "sheet") == "a3", text(j, "on")};
}

PublishSettings to_publish(const Json& j) {
  PublishSettings publish;
  publish.licence_file = text(j, "licence_file");
  publish.licence = text(j, "licence");
  for (const Json& t : j.value("tested", Json::array()))
    publish.tested.push_back({text(t, "what"), text(t, "result"), text(t, "on"), text(t, "revision")});
  for (const Json& c : j.value("changes", Json::array()))
    publish.changes.push_back({text(c, "revision"), text(c, "what")});
  return publish;
}

BeforeSettings to_before(const Json& j) {
  BeforeSettings before;
  before.bearing_length_mm = number(j, "bearing_length_mm");
  before.play_um = number(j, "play_um");
  before.bed_height_mm = maybe_number(j, "bed_height_mm");
  before.moving_mass_g = maybe_number(j, "moving_mass_g");
  before.plus_minus_mm = number(j, "plus_minus_mm");
  before.stand_mm = maybe_number(j, "stand_mm");
  before.rod_diameter_mm = maybe_number(j, "rod_diameter_mm");
  before.rod_height_mm = maybe_number(j, "rod_height_mm");
  before.belt_height_mm = maybe_number(j, "belt_height_mm");
  before.nozzle_gap_mm = maybe_number(j, "nozzle_gap_mm");
  for (const Json& at : j.value("blocks_mm", Json::array()))
    before.blocks_mm.push_back({at[0].get<double>(), at[1].get<double>()});
  if (j.contains("end_switch")) {
    const Json& end = j["end_switch"];
    before.end_switch = EndSwitch{number(end, "bed_y_mm"), number(end, "height_mm"), number(end, "window_mm")};
  }
  return before;
}

BedSettings to_bed(const Json& j) {
  BedSettings bed;
  bed.size_mm = pair(j, "size_mm");
  bed.mass_g = number(j, "mass_g");
  bed.material = text(j, "material");
  bed.max_temperature_c = number(j, "max_temperature_c");
  bed.thickness_mm = maybe_number(j, "thickness_mm");
  bed.height_mm = maybe_number(j, "height_mm");
  bed.stand_mm = number(j, "stand_mm");
  bed.stand_plus_minus_mm = number(j, "stand_plus_minus_mm");
  bed.spacer = text(j, "spacer");
  bed.fixed_mount = text(j, "fixed_mount");
  bed.mount_screw = text(j, "mount_screw");
  bed.print_height_mm = number(j, "print_height_mm");
  return bed;
}

/// Pieces as `bedwright contour --json` writes them, counter-clockwise.
Loop outline_of(const Json& pieces, Vec2 moved) {
  Loop loop;
  for (const Json& piece : pieces) {
    Curve c;
    c.start = pair(piece, "from_mm") + moved;
    c.end = pair(piece, "to_mm") + moved;
    c.arc = text(piece, "kind") == "arc";
    if (c.arc) {
      c.centre = pair(piece, "centre_mm") + moved;
      c.radius = number(piece, "radius_mm");
      c.ccw = text(piece, "turns") == "left";
    }
    loop.curves.push_back(c);
  }
  // Written to 1e-4 mm, so neighbours' ends may be off by as much, and ends off their circle.
  for (std::size_t i = 0; i < loop.curves.size(); ++i)
    loop.curves[i].end = loop.curves[(i + 1) % loop.curves.size()].start;
  for (Curve& c : loop.curves) {
    if (!c.arc) continue;
    const Vec2 chord = c.end - c.start, middle = 0.5 * (c.start + c.end);
    const double half = length(chord) / 2;
    if (c.radius < half) c.radius = half;
    const Vec2 across = (std::sqrt(c.radius * c.radius - half * half) / (2 * half)) * Vec2{-chord.y, chord.x};
    c.centre = dot(c.centre - middle, across) >= 0 ? middle + across : middle - across;
  }
  if (area(loop) >= 0) return loop;
  std::reverse(loop.curves.begin(), loop.curves.end());
  for (Curve& c : loop.curves) {
    std::swap(c.start, c.end);
    c.ccw = !c.ccw;
  }
  return loop;
}

BaseProfile to_base(const Json& j) {
  BaseProfile base;
  for (const Json& at : j.value("outline_mm", Json::array()))
    base.outline_mm.push_back({at[0].get<double>(), at[1].get<double>()});
  if (j.contains("pieces")) {
    base.outline = outline_of(j["pieces"], pair(j, "pieces_at_mm"));
    base.outline_mm = polygonised(base.outline, base_chord_mm);
  } else {
    base.outline = polygon_loop(base.outline_mm);
  }
  base.material = text(j, "material", base.material);
  base.thickness_mm = number(j, "thickness_mm");
  for (const Json& area : j.value("raised", Json::array()))
    base.raised.push_back({text(area, "id"), pair(area, "min_mm"), pair(area, "max_mm"), number(area, "height_mm")});
  for (const Json& area : j.value("openings", Json::array()))
    base.openings.push_back({text(area, "id"), pair(area, "min_mm"), pair(area, "max_mm"), 0});
  return base;
}

DriveSettings to_drive(const Json& j) {
  DriveSettings drive;
  drive.belt_unit_strain_n = number(j, "belt_unit_strain_n");
  drive.belt_spans_mm = pair(j, "belt_spans_mm");
  drive.speed_mm_s = maybe_number(j, "speed_mm_s");
  drive.ripple_mm = maybe_number(j, "ripple_mm");
  drive.proof = text(j, "proof");
  return drive;
}

PartRequest to_part(const Json& j, const std::string& pointer) {
  PartRequest part;
  part.id = text(j, "id");
  part.family = text(j, "family");
  if (j.contains("placements")) {
    // Placement order, whatever the file's order is.
    for (const char* placement : placement_ids) {
      for (const Json& each : j["placements"]) {
        if (each == placement) part.placements.push_back(placement);
      }
    }
  }
  if (j.contains("quantity")) part.quantity = static_cast<int>(number(j, "quantity"));
  part.settings = j;
  part.pointer = pointer;
  return part;
}

/// A machine that prints its own parts cannot print a shim while it is apart: of the kit's first parallel shim, those of
/// one to four layers too, one for each mount.
void add_shim_range(Kit& kit) {
  constexpr int thinnest = 1, thickest = 4, usual_mounts = 4;
  const auto is_pattern = [](const PartRequest& r) {
    return r.family == "shim" && r.placements.empty() && r.settings.value("taper_um_per_mm", 0.0) == 0;
  };
  const auto found = std::find_if(kit.parts.begin(), kit.parts.end(), is_pattern);
  if (found == kit.parts.end()) return;
  const PartRequest pattern = *found;
  for (int layers = thinnest; layers <= thickest; ++layers) {
    const double mm = rounded_length(kit.printer.first_layer_mm + (layers - 1) * kit.printer.layer_mm);
    PartRequest shim = pattern;
    shim.id = pattern.id + "-" + std::to_string(layers) + (layers == 1 ? "-layer" : "-layers");
    const bool there = std::any_of(kit.parts.begin(), kit.parts.end(), [&](const PartRequest& r) {
      return r.id == shim.id || (is_pattern(r) && std::fabs(number(r.settings, "thickness_mm") - mm) < length_step_mm);
    });
    if (there) continue;
    shim.quantity = kit.frame.mounts.empty() ? usual_mounts : static_cast<int>(kit.frame.mounts.size());
    shim.settings["id"] = shim.id;
    shim.settings["thickness_mm"] = mm;
    shim.settings["quantity"] = *shim.quantity;
    kit.parts.push_back(std::move(shim));
  }
}

}  // namespace

std::vector<FrameHole> expand_pattern(const Json& pattern) {
  std::vector<FrameHole> holes;
  const std::string kind = text(pattern, "kind");
  const Vec2 centre = pair(pattern, "centre_mm");
  const double diameter = number(pattern, "diameter_mm");
  if (kind == "rectangular") {
    const Vec2 half = 0.5 * pair(pattern, "pitch_mm");
    for (std::size_t i = 0; i < placement_ids.size(); ++i) {
      const Vec2 offset{i % 2 == 0 ? -half.x : half.x, i < 2 ? -half.y : half.y};
      holes.push_back({placement_ids[i], centre + offset, diameter});
    }
  } else if (kind == "bolt_circle") {
    const int count = static_cast<int>(number(pattern, "count"));
    const double radius = 0.5 * number(pattern, "circle_mm"), start = number(pattern, "start_deg");
    for (int i = 0; i < count; ++i) {
      const double angle = (start + 360.0 * i / count) * rad_per_deg;
      holes.push_back({"h" + std::to_string(i + 1), centre + radius * Vec2{cos_rad(angle), sin_rad(angle)}, diameter});
    }
  } else {
    for (const Json& hole : pattern.at("holes")) {
      holes.push_back({text(hole, "id"), pair(hole, "at_mm"), number(hole, "diameter_mm")});
    }
  }
  return holes;
}

double typical_clearance_um(const std::string& preload) {
  constexpr double clearance_class_um = 7;  // middle of 4 to 10 um
  return preload == "clearance" ? clearance_class_um : 0;
}

Kit expand(const Json& document) {
  Kit kit;
  kit.name = text(document, "kit");
  kit.revision = text(document, "revision");
  kit.title = text(document, "title", kit.name);
  kit.tolerance = {number(document.at("tolerance"), "chord_mm"), text(document.at("tolerance"), "general")};
  kit.frame = to_frame(document.at("frame"));
  kit.rails = to_rails(document.at("rails"));
  kit.carriages = to_carriages(document.at("carriages"));
  if (document.contains("before")) kit.before = to_before(document["before"]);
  if (document.contains("bed")) kit.bed = to_bed(document["bed"]);
  if (document.contains("base")) kit.base = to_base(document["base"]);
  if (document.contains("heat"))
    kit.heat = {number(document["heat"], "room_c"), number(document["heat"], "frame_c"),
                number(document["heat"], "base_c")};
  if (document.contains("drive")) kit.drive = to_drive(document["drive"]);
  kit.printer = to_printer(document.at("printer"));
  const Json& parts = document.at("parts");
  for (std::size_t i = 0; i < parts.size(); ++i) kit.parts.push_back(to_part(parts[i], child("/parts", i)));
  if (kit.printer.wishes.prints_itself) add_shim_range(kit);
  for (const auto& [key, list] : {std::pair<const char*, Json*>{"joints", &kit.joints},
                                  {"keep_outs", &kit.keep_outs},
                                  {"open", &kit.open},
                                  {"stock", &kit.stock}}) {
    if (document.contains(key)) *list = document[key];
  }
  if (document.contains("joint_rules")) {
    const Json& rules = document["joint_rules"];
    JointRules& r = kit.joint_rules;
    r.engagement_pitches = number(rules, "engagement_pitches");
    r.tip_clearance_mm = number(rules, "tip_clearance_mm");
    r.settling_share = number(rules, "settling_share");
    r.printed_plus_minus_mm = number(rules, "printed_plus_minus_mm");
    r.length_tolerance = rules.value("length_tolerance", false);
    r.clamp_limit_by_material = !rules.contains("clamp_limit_mpa");
    if (!r.clamp_limit_by_material) r.clamp_limit_mpa = number(rules, "clamp_limit_mpa");
    r.pattern_plus_minus_mm = number(rules, "pattern_plus_minus_mm");
  }
  if (kit.joint_rules.clamp_limit_by_material) kit.joint_rules.clamp_limit_mpa = clamp_limit_mpa(kit.printer.material);
  if (document.contains("bed_map")) kit.bed_map = document["bed_map"];
  if (document.contains("drawing")) kit.drawing = to_drawing(document["drawing"]);
  if (document.contains("publish")) kit.publish = to_publish(document["publish"]);
  return kit;
}

}  // namespace bedwright
