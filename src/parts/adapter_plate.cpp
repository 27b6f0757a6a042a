#include "parts/adapter_plate.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "layout/plate_outline.h"
#include "layout/plate_settings.h"
#include "parts/features.h"
#include "parts/marks.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double least_under_head_mm = 1.6;   // material a head clamps: eight layers of 0.2
constexpr double least_counterbore_mm = 0.2;  // a shallower one is no seat: the head stands on the flat top
constexpr double relief_mm = 1.0;             // room for displaced plastic beyond an insert
constexpr double least_relief_mm = 0.3;       // the least where material is short
constexpr double least_web_mm = 0.4;          // material between a pocket and the seat: two layers
constexpr double least_boss_wall_mm = 0.8;    // two lines
constexpr double gap_to_carriage_mm = 0.2;    // boss beside the carriage
constexpr double boss_edge_mm = 0.8;          // greatest chamfer that stays clear of a boss's foot

double up_to_tenth(double mm) {
  return std::ceil(mm * 10 - 1e-9) / 10;
}

const Placement& placement_of(const Layout& layout, const std::string& id) {
  for (const Placement& p : layout.placements)
    if (p.id == id) return p;
  throw Error("no placement \"" + id + "\"");
}

Surface seen_from(const Layout& layout, const Placement& placement) {
  return transformed(layout.underside, shift({-placement.at.x, -placement.at.y, 0}));
}

Vec2 slot_direction(const PlateSettings& s) {
  return s.slot_along_y ? Vec2{0, 1} : Vec2{1, 0};
}

/// Highest floor that hides the heads at every placement of one request.
double highest_floor(const Kit& kit, const Layout& layout, const PartRequest& request, const PlateSettings& s) {
  double floor = 1e9;
  for (const std::string& id : placements_of(request)) {
    const Placement& placement = placement_of(layout, id);
    const Surface seen = seen_from(layout, placement);
    const double radius = (s.counterbore_mm + kit.printer.compensation.hole_mm) / 2;
    for (Vec2 at : carriage_holes(kit.carriages.size)) {
      const Loop footprint = slot_loop(at, radius, slot_extra_mm(s, id), slot_direction(s), Facets::outside);
      floor = std::min(floor, heights_over(seen, {footprint}).least - s.head_height_mm - s.head_cover_mm);
    }
  }
  return has_flat_top(s) ? std::min(floor, flat_top_mm(s)) : floor;
}

Anchor carriage_anchor(const Kit& kit) {
  return {"carriage", kit.carriages.size.thread_depth_mm, true, ""};
}

struct PlateBuilder {
  const Kit& kit;
  const PlateSettings& s;
  const Placement& placement;
  Surface seat_surface;
  double floor_mm;
  Part part;

  double top_at(Vec2 p) const { return has_flat_top(s) ? flat_top_mm(s) : height_at(seat_surface, p); }
  double seat_at(Vec2 p) const { return height_at(seat_surface, p); }
  const Compensation& compensation() const { return kit.printer.compensation; }

  void add_body() {
    double chamfer = s.chamfer_mm;
    if (!s.boss_up && s.boss_height_mm > 0 && chamfer > boss_edge_mm) {
      chamfer = boss_edge_mm;
      part.statements.push_back("bottom chamfer " + decimal(chamfer, 2) + " mm instead of " + decimal(s.chamfer_mm, 2) +
                                ": more would undercut the bosses");
    }
    const Loop drawn = plate_outline(kit.carriages.size, placement, s, 0);
    const Loop made = plate_outline(kit.carriages.size, placement, s, compensation().outline_mm);
    const Bound top = has_flat_top(s) ? Bound::at(flat_top_mm(s)) : Bound::at_seat();
    part.features.push_back(outline(drawn, made, Bound::at(0), top, chamfer, kit.tolerance.chord_mm));
    part.features.push_back(seat(seat_surface, plate_seats(drawn, kit.carriages.size, placement, s, 0),
                                 plate_seats(made, kit.carriages.size, placement, s, compensation().outline_mm),
                                 kit.tolerance.chord_mm));
  }

  void add_bosses() {
    for (std::size_t i = 0; i < placement.holes.size(); ++i) {
      const Vec2 at = placement.holes[i].at_mm - placement.at;
      const std::string id = "boss-" + placement.holes[i].id;
      if (s.boss_up)
        part.features.push_back(boss_to_seat(id, at, s.boss_diameter_mm, flat_top_mm(s), seat_at(at), compensation()));
      else if (s.boss_height_mm > 0)
        part.features.push_back(boss_down(id, at, s.boss_diameter_mm, 0, s.boss_height_mm, compensation()));
    }
    int pads = 0;
    for (Vec2 at : pad_centres(kit.carriages.size, placement, s))
      part.features.push_back(boss_to_seat("pad-" + std::to_string(++pads), at, s.pad_diameter_mm, flat_top_mm(s),
                                           seat_at(at), compensation()));
  }

  void add_carriage_holes() {
    const std::vector<Vec2> holes = carriage_holes(kit.carriages.size);
    const double extra = slot_extra_mm(s, placement.id);
    for (std::size_t i = 0; i < holes.size(); ++i)
      part.features.push_back(clearance_slot("carriage-hole-" + std::to_string(i + 1), holes[i], s.carriage_hole_mm,
                                             extra, slot_direction(s), Bound::open(), Bound::open(), top_at(holes[i]),
                                             compensation()));
    if (has_flat_top(s) && floor_mm > flat_top_mm(s) - least_counterbore_mm) return;
    for (std::size_t i = 0; i < holes.size(); ++i)
      part.features.push_back(counterbore_slot("counterbore-" + std::to_string(i + 1), holes[i], s.counterbore_mm,
                                               extra, slot_direction(s), floor_mm, top_at(holes[i]), compensation()));
  }

  void add_frame_holes() {
    const double opening = s.boss_up ? 0 : -s.boss_height_mm;
    const double hole = s.insert.hole_mm + compensation().hole_mm;
    for (const FrameHole& frame_hole : placement.holes) {
      const Vec2 at = frame_hole.at_mm - placement.at;
      part.features.push_back(clearance_hole("frame-hole-" + frame_hole.id, at, s.frame_hole_mm, Bound::open(),
                                             Bound::open(), seat_at(at), compensation()));
      const double lowest = heights_over(seat_surface, {circle_loop(at, hole / 2, Facets::outside)}).least;
      const double room = lowest - least_web_mm - opening;
      const double depth = std::min(s.insert.length_mm + relief_mm, room);
      if (depth < s.insert.length_mm + least_relief_mm) {
        const double missing = s.insert.length_mm + least_relief_mm - room;
        throw CannotBuild(
            "insert-too-long",
            "the insert " + s.insert.id + " is " + decimal(s.insert.length_mm, 2) + " mm long and needs a pocket of " +
                decimal(s.insert.length_mm + least_relief_mm, 2) + " mm; at frame hole " + frame_hole.id +
                " there is " + "room for " + decimal(std::max(room, 0.0), 2) + " mm",
            "make thickness_mm at least " + decimal(up_to_tenth(s.thickness_mm + missing), 1) +
                (s.boss_up ? ""
                           : ", or boss_height_mm at least " + decimal(up_to_tenth(s.boss_height_mm + missing), 1)) +
                ", or choose a shorter insert",
            {"insert-" + frame_hole.id});
      }
      if (depth < s.insert.length_mm + relief_mm - 1e-9)
        part.statements.push_back("pocket at frame hole " + frame_hole.id + ": " +
                                  decimal(depth - s.insert.length_mm, 2) + " mm beyond the insert instead of " +
                                  decimal(relief_mm, 2) + ": clear displaced plastic before the screw goes in");
      part.features.push_back(
          insert_pocket("insert-" + frame_hole.id, at, s.insert.hole_mm, opening, depth, compensation()));
    }
  }
};

void require_bosses(const Kit& kit, const PlateSettings& s, const Placement& placement) {
  if (s.boss_height_mm <= 0) return;
  const double wall = (s.boss_diameter_mm - s.insert.hole_mm) / 2;
  if (wall < least_boss_wall_mm)
    throw CannotBuild("boss-too-thin",
                      "a boss of " + decimal(s.boss_diameter_mm, 2) + " mm leaves " + decimal(std::max(wall, 0.0), 2) +
                          " mm of wall round the insert's hole of " + decimal(s.insert.hole_mm, 2) + " mm",
                      "make boss_diameter_mm at least " +
                          decimal(up_to_tenth(s.insert.hole_mm + 2 * least_boss_wall_mm), 1) +
                          "; the insert asks for " + decimal(s.insert.hole_mm + 2 * s.insert.least_wall_mm, 1),
                      {"boss-" + placement.holes.front().id});
  if (s.boss_up) return;
  const double half_x = kit.carriages.size.width_mm / 2, half_y = kit.carriages.size.length_mm / 2;
  for (const FrameHole& hole : placement.holes) {
    const Vec2 at = hole.at_mm - placement.at;
    const Vec2 beyond{std::max(std::fabs(at.x) - half_x, 0.0), std::max(std::fabs(at.y) - half_y, 0.0)};
    if (length(beyond) >= s.boss_diameter_mm / 2 + gap_to_carriage_mm) continue;
    throw CannotBuild("boss-meets-carriage",
                      "the boss under frame hole " + hole.id + " would hang into the carriage " + placement.id,
                      "use boss_side up, or boss_height_mm 0, or other frame holes", {"boss-" + hole.id});
  }
}

}  // namespace

ScrewPick head_floor(const Kit& kit, const Layout& layout, const PartRequest& request) {
  const PlateSettings own = plate_settings(kit, request);
  const Anchor anchor = carriage_anchor(kit);
  const JointRules& rules = kit.joint_rules;
  const double own_floor = highest_floor(kit, layout, request, own);
  double common = own_floor;
  for (const PartRequest& other : kit.parts) {
    if (other.family != "adapter_plate") continue;
    const PlateSettings s = plate_settings(kit, other);
    if (s.carriage_screw == own.carriage_screw) common = std::min(common, highest_floor(kit, layout, other, s));
  }
  if (const auto pick = pick_screw(own.carriage_screw, anchor, rules, least_under_head_mm, common)) return *pick;
  if (const auto pick = pick_screw(own.carriage_screw, anchor, rules, least_under_head_mm, own_floor)) return *pick;
  if (own_floor < least_under_head_mm) {
    const bool top = has_flat_top(own) && flat_top_mm(own) <= own_floor + 1e-9;
    throw CannotBuild("counterbore-too-deep",
                      "under the heads of the carriage screws only " + decimal(std::max(own_floor, 0.0), 2) +
                          " mm of material is left; " + decimal(least_under_head_mm, 1) + " mm is the least",
                      "make thickness_mm at least " +
                          decimal(up_to_tenth(own.thickness_mm + least_under_head_mm - own_floor), 1) +
                          (top ? ", or the bosses lower" : ""),
                      {"counterbore-1"});
  }
  // The least thickening that lets some length in; none helps where the thread is too shallow for any.
  double needed = 0;
  for (const StockLength& length : standard_lengths(own.carriage_screw)) {
    const GripRange w = grips_for(length.mm, own.carriage_screw, anchor, rules);
    if (length.choice == 1 && w.least <= w.greatest && w.greatest >= least_under_head_mm) {
      needed = std::max(w.least, least_under_head_mm) - own_floor;
      if (needed > 0) break;
    }
  }
  throw CannotBuild("no-screw-length",
                    "no " + own.carriage_screw + " screw of a stock length holds at least " +
                        decimal(rules.engagement_pitches, 1) + " pitches in the carriage's " +
                        decimal(anchor.depth_mm, 2) + " mm of thread and stays clear of its bottom",
                    needed > 0 ? "make thickness_mm at least " + decimal(up_to_tenth(own.thickness_mm + needed), 1)
                               : "measure the thread's depth; if it is right, use a shorter screw cut to length",
                    {"carriage-hole-1"});
}

std::vector<Part> derive_adapter_plates(const Kit& kit, const Layout& layout, const PartRequest& request) {
  const PlateSettings s = plate_settings(kit, request);
  if (has_flat_top(s) && flat_top_mm(s) < least_under_head_mm)
    throw CannotBuild(
        "top-too-low",
        std::string(s.boss_up ? "bosses" : "pads") + " of " + decimal(s.thickness_mm - flat_top_mm(s), 2) +
            " mm on a plate of " + decimal(s.thickness_mm, 2) + " mm in all leave " + decimal(flat_top_mm(s), 2) +
            " mm for the plate; " + decimal(least_under_head_mm, 1) + " mm is the least",
        "make thickness_mm at least " + decimal(up_to_tenth(s.thickness_mm - flat_top_mm(s) + least_under_head_mm), 1) +
            (s.boss_up ? ", or boss_height_mm less" : ""),
        {"outline"});
  const ScrewPick pick = head_floor(kit, layout, request);
  std::vector<Part> parts;
  for (const std::string& id : placements_of(request)) {
    const Placement& placement = placement_of(layout, id);
    require_bosses(kit, s, placement);
    PlateBuilder b{kit, s, placement, seen_from(layout, placement), pick.grip_mm, {}};
    b.part.id = request.id;
    b.part.family = request.family;
    b.part.placements = {id};
    b.part.seat = b.seat_surface;
    b.part.chord_mm = kit.tolerance.chord_mm;
    b.part.settings = request.settings;
    b.part.material = request.settings.value("material", kit.printer.material);
    b.part.statements.push_back("carriage screw ISO 4762 " + s.carriage_screw + "x" + decimal(pick.length_mm, 1) +
                                ": the head bears at z = " + decimal(pick.grip_mm, 3) + " mm; grips from " +
                                decimal(pick.grip_least_mm, 2) + " to " + decimal(pick.grip_greatest_mm, 2) +
                                " mm suit it");
    b.add_body();
    b.add_bosses();
    b.add_carriage_holes();
    b.add_frame_holes();
    const Dimension* thickness = find_dimension(b.part.features[1], "thickness");
    if (thickness->nominal_mm > s.thickness_mm + 0.001)
      b.part.statements.push_back("thickness_mm " + decimal(s.thickness_mm, 2) +
                                  " is reached elsewhere; here the least is " + decimal(thickness->nominal_mm, 3) +
                                  " mm, because all plates share one height");
    const double wall = (s.boss_diameter_mm - s.insert.hole_mm) / 2;
    if (s.boss_height_mm > 0 && wall < s.insert.least_wall_mm - 1e-9)
      b.part.statements.push_back("wall round the insert " + decimal(wall, 2) + " mm; its table asks for " +
                                  decimal(s.insert.least_wall_mm, 2) + " mm");
    parts.push_back(std::move(b.part));
  }
  return parts;
}

PlateSettings plate_settings(const Kit& kit, const Part& part) {
  PartRequest request;
  request.id = part.id;
  request.family = part.family;
  request.settings = part.settings;
  return plate_settings(kit, request);
}

void mark_adapter_plate(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part) {
  MarkWish wish;
  wish.words = words_of_id(part.id);
  wish.words.push_back(kit.revision);
  wish.words.push_back("UP");
  wish.arrow = true_arrow(layout, part);
  if (!wish.arrow) part.statements.push_back(why_no_arrow(part));
  const PlateSettings s = plate_settings(kit, request);
  const CapScrew* head = find_cap_screw(s.carriage_screw);
  for (const Feature& f : part.features) {
    const bool carriage = f.id.rfind("carriage-hole-", 0) == 0 && head;
    // Slots take the head along with them.
    if (carriage)
      wish.keep_clear.push_back(slot_loop({f.at.x, f.at.y}, head->head_diameter_mm / 2,
                                          slot_extra_mm(s, part.placements.empty() ? "" : part.placements.front()),
                                          slot_direction(s), Facets::outside));
  }
  engrave(part, wish, has_flat_top(s) ? "plate top (up)" : "seat (up)");
}

}  // namespace bedwright
