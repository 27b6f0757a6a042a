#include "checks/wrong_ways.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "base/error.h"
#include "base/numbers.h"
#include "base/trig.h"
#include "checks/way_blocked.h"
#include "checks/way_screws.h"
#include "parts/grouping.h"

namespace bedwright {
namespace {

constexpr double least_wedge = 1e-9;  // tangent; less is rounding

struct Faces {
  std::vector<FacePoint> up, down;
};

/// One part at one of its placements, the right way.
struct Place {
  const Part* part = nullptr;
  const Placement* placement = nullptr;
  int quarter = 0;
};

/// Parts whose upper face must mate with the frame; the others lie flat whichever way round.
bool follows_frame(const Part& part) {
  return !part.placements.empty() &&
         (part.family == "adapter_plate" || part.settings.value("seat", std::string()) == "frame");
}

std::vector<Place> places_of(const Layout& layout, const std::vector<Part>& parts) {
  std::vector<Place> places;
  for (const Placement& placement : layout.placements)
    for (const Part& part : parts)
      for (std::size_t i = 0; i < part.placements.size(); ++i)
        if (follows_frame(part) && part.placements[i] == placement.id)
          places.push_back({&part, &placement, i < part.quarter_turns.size() ? part.quarter_turns[i] : 0});
  return places;
}

double curvature_over(const Surface& surface, const Loop& outline) {
  double reach = 0;
  for (const EdgePoint& e : edge_points(outline, 5)) reach = std::max(reach, length(e.at - surface.apex));
  return curvature_bound(surface, reach);
}

/// The flipped part as features again, where its top is level and its lower edge upright; nothing otherwise.
std::optional<Part> turned_over(const Part& part) {
  const bool flat = part.seat.shape == SurfaceShape::plane && part.seat.slope == Vec2{};
  if (!flat) return std::nullopt;
  Transform mirror;
  mirror.m[0] = -1;
  Part over = part;
  const auto swapped = [&](const Bound& b) {
    if (b.kind == Bound::Kind::open) return b;
    const double z = b.kind == Bound::Kind::seat ? part.seat.height : b.z_mm;
    return Bound::at(part.seat.height - z);
  };
  for (Feature& f : over.features) {
    if (f.chamfer_mm > 0) return std::nullopt;
    for (Loop& loop : f.profile) loop = transformed(loop, mirror);
    const Bound from = f.from;
    f.from = swapped(f.to);
    f.to = swapped(from);
  }
  return over;
}

/// Levels at the seat written as numbers, so that a part and its turned over self compare.
Part level_topped(Part part) {
  for (Feature& f : part.features)
    for (Bound* b : {&f.from, &f.to})
      if (b->kind == Bound::Kind::seat) *b = Bound::at(part.seat.height);
  return part;
}

bool same_as_right(const Place& place, const Offered& offered) {
  Transform t = quarter_turn(2, offered.quarter - place.quarter);
  if (offered.odd_deg != 0) t = compose(turn_about_z(offered.odd_deg * rad_per_deg), t);
  if (!offered.flipped) return same_shape(*place.part, *offered.part, t);
  const std::optional<Part> over = turned_over(*offered.part);
  return over && same_shape(level_topped(*place.part), *over, t);
}

std::string offered_as(const WrongWay& way) {
  std::string text = way.offered();
  if (!way.revision.empty()) text += " of revision " + way.revision;
  if (!way.as.empty()) text += " in the place of " + way.part;
  const std::string turned = way.turn_deg == 0 ? "" : "turned by " + decimal(way.turn_deg, 1) + " deg";
  if (way.flipped) text += std::string(way.as.empty() ? "" : ",") + " upside down";
  if (!turned.empty()) text += (way.flipped ? " and " : way.as.empty() ? " " : ", ") + turned;
  return text + " at " + way.placement;
}

/// Where on the plate, as someone in front of the machine says it.
std::string spot_words(Vec2 d, Vec2 half) {
  const double u = half.x > 0 ? d.x / half.x : 0, v = half.y > 0 ? d.y / half.y : 0;
  const std::string x = u > 0 ? "right" : "left", y = v > 0 ? "rear" : "front";
  if (std::fabs(u) > 0.6 && std::fabs(v) > 0.6) return "at the " + y + "-" + x + " corner";
  if (std::max(std::fabs(u), std::fabs(v)) < 0.5) return "in the middle";
  return "at the " + (std::fabs(u) > std::fabs(v) ? x : y) + " edge";
}

std::string mark_words(const WrongWay& way, const Part& offered) {
  if (!way.revision.empty() && offered.visible_mark && !way.flipped) return "its mark then reads " + offered.mark_text;
  if (!offered.visible_mark) return "no mark says so";
  if (way.flipped) return "its mark then faces down";
  if (!way.as.empty()) return "its mark then reads " + way.as + " where " + way.part + " belongs";
  const bool centre = offered.mark_text.find("centre") != std::string::npos;
  const bool arrow = offered.mark_text.find("arrow") != std::string::npos;
  if (!arrow) return "its mark then stands turned";
  const std::string to = centre ? "the machine's centre" : "the machine's front";
  return std::string("the mark's arrow then points ") + (way.turn_deg == 180 ? "away from " : "past ") + to;
}

class Finder {
 public:
  Finder(const Kit& kit, const Layout& layout, const std::vector<Part>& parts)
      : kit_(kit), layout_(layout), parts_(parts), places_(places_of(layout, parts)) {}

  std::vector<std::string> right_ways_blocked() const {
    std::vector<std::string> blocked;
    for (const Place& place : places_) {
      const Surroundings s = around(place);
      const Offered right{place.part, false, place.quarter, 0};
      Block block = blocked_by_keys(s, right);
      if (block.what.empty()) block = keys_meet_keep_outs(s, right);
      if (!block.what.empty()) blocked.push_back(place.part->id + " at " + place.placement->id + ": " + block.why);
    }
    return blocked;
  }

  std::vector<WrongWay> all() {
    std::vector<WrongWay> ways;
    for (const Place& place : places_)
      for (const Part& offered : parts_) try_all(place, offered, "", ways);
    for (const Part& part : parts_) try_wedge(part, ways);
    return sorted(std::move(ways));
  }

  int open(const std::vector<std::string>& concerns, int enough) {
    const auto named = [&](const Part& p) {
      return std::find(concerns.begin(), concerns.end(), p.id) != concerns.end();
    };
    int open = 0;
    for (const Place& place : places_)
      for (const Part& offered : parts_) {
        if (!named(*place.part) && !named(offered)) continue;
        std::vector<WrongWay> ways;
        try_all(place, offered, "", ways);
        open += int(std::count_if(ways.begin(), ways.end(), matters));
        if (open > enough) return open;
      }
    return open;
  }

  std::vector<WrongWay> all_of(const OldSet& old) {
    std::vector<WrongWay> ways;
    for (const Place& place : places_)
      for (const Part& offered : old.parts) try_all(place, offered, old.revision.empty() ? "?" : old.revision, ways);
    return sorted(std::move(ways));
  }

 private:
  static std::vector<WrongWay> sorted(std::vector<WrongWay> ways) {
    std::stable_sort(ways.begin(), ways.end(), [](const WrongWay& a, const WrongWay& b) {
      if (a.bolts_up != b.bolts_up) return a.bolts_up;
      return a.bolts_up && rounded_length(a.worst_mm()) > rounded_length(b.worst_mm());
    });
    return ways;
  }

  void try_all(const Place& place, const Part& offered, const std::string& revision, std::vector<WrongWay>& ways) {
    if (offered.family != place.part->family || !follows_frame(offered)) return;
    for (const bool flipped : {false, true}) {
      for (int turn = 0; turn < 4; ++turn) try_way(place, offered, flipped, turn, 0, revision, ways);
      const Surroundings s = around(place);
      for (double deg : odd_angles(s, {&offered, flipped, 0, 0}))
        try_way(place, offered, flipped, 0, deg, revision, ways);
    }
  }

  const Faces& faces(const Part& part) {
    const auto found = faces_.find(&part);
    if (found != faces_.end()) return found->second;
    const Loop& outline = part.features.front().profile.front();
    const double own = curvature_over(part.seat, outline);
    // The sheet is as strongly curved as the seats that follow it; turned parts reach a little farther out.
    double sheet = 0;
    for (const Part& p : parts_) sheet = std::max(sheet, curvature_over(p.seat, p.features.front().profile.front()));
    Faces f{face_points(part, true, own + sheet), face_points(part, false, sheet)};
    return faces_.emplace(&part, std::move(f)).first->second;
  }

  std::vector<Head> heads(const Surroundings& around, const Offered& offered, const WayScrews& screws) {
    std::vector<Head> list;
    for (const HoleSpot& hole : mounting_holes(*offered.part)) {
      const double bearing = posed_z(offered, bearing_mm(*offered.part, !offered.flipped, hole.at));
      if (around.right.family == "adapter_plate")
        list.push_back({posed(offered, hole.at), screws.head_radius_mm, bearing + screws.head_height_mm});
    }
    return list;
  }

  Contact contact_of(const Surroundings& around, const Offered& offered, const WayScrews& screws) {
    const Surface sheet = transformed(layout_.underside, shift({-around.placement.at.x, -around.placement.at.y, 0}));
    const Faces& f = faces(*offered.part);
    return first_contact(offered, offered.flipped ? f.down : f.up, heads(around, offered, screws), sheet);
  }

  const WayScrews& screws_of(const Part& part) {
    const auto found = screws_.find(&part);
    return found != screws_.end() ? found->second : screws_.emplace(&part, screws_of_part(kit_, part)).first->second;
  }

  double right_drop(const Place& place, const Surroundings& around) {
    const auto found = right_drops_.find(&place);
    if (found != right_drops_.end()) return found->second;
    const Offered right{place.part, false, place.quarter, 0};
    return right_drops_[&place] = contact_of(around, right, screws_of(*place.part)).drop_mm;
  }

  Surroundings around(const Place& place) const {
    Surroundings s{kit_, layout_, *place.placement, *place.part, place.quarter, {}};
    for (const Place& other : places_) {
      if (other.placement == place.placement || other.part->family != "adapter_plate") continue;
      const Vec2 by = other.placement->at - place.placement->at;
      for (Piece& piece : pieces_of({other.part, false, other.quarter, 0}, by))
        s.neighbours.push_back(std::move(piece));
    }
    return s;
  }

  /// A wedge between two planes: only its thickness at each point counts, whichever face is up.
  void try_wedge(const Part& part, std::vector<WrongWay>& ways) {
    const bool wedge = part.seat.shape == SurfaceShape::plane && !(part.seat.slope == Vec2{});
    if (!wedge || follows_frame(part)) return;
    for (const Placement& placement : layout_.placements) {
      if (std::find(part.placements.begin(), part.placements.end(), placement.id) == part.placements.end()) continue;
      const Surroundings s{kit_, layout_, placement, part, 0, {}};
      for (const bool flipped : {false, true})
        for (int turn = 0; turn < 4; ++turn) {
          const Offered offered{&part, flipped, turn, 0};
          const Vec3 turned = bedwright::turn(plane_transform(offered), {part.seat.slope.x, part.seat.slope.y, 0});
          const Vec2 off = Vec2{turned.x, turned.y} - part.seat.slope;
          if (length(off) < least_wedge) continue;
          WrongWay way;
          way.part = part.id;
          way.placement = placement.id;
          way.turn_deg = 90.0 * turn;
          way.flipped = flipped;
          const std::string head = offered_as(way);
          const Block block = blocked_by_holes(s, offered);
          way.bolts_up = block.what.empty();
          way.blocked_by = block.what;
          if (!way.bolts_up) {
            way.consequence = head + " does not go on: " + block.why;
            ways.push_back(std::move(way));
            continue;
          }
          const Loop edge = transformed(part.features.front().profile.front(), plane_transform(offered));
          double most = -1e300, least = 1e300;
          for (const EdgePoint& e : edge_points(edge, 1)) {
            const double d = dot(off, e.at);
            most = std::max(most, d);
            if (d >= least) continue;
            least = d;
            way.where = e.at + placement.at;
          }
          way.seat_gap_mm = most - least;
          way.height_change_mm = most;
          way.tilt_deg = atan2_rad(length(off), 1) / rad_per_deg;
          half_ = half_size(part, 0);
          at_ = placement.at;
          screw_words_.clear();
          way.consequence = head + " goes on: " + what_follows(way, part);
          ways.push_back(std::move(way));
        }
    }
  }

  void try_way(const Place& place, const Part& offered_part, bool flipped, int turn, double odd_deg,
               const std::string& revision, std::vector<WrongWay>& ways) {
    const bool own = &offered_part == place.part;
    if (own && !flipped && turn == 0 && odd_deg == 0) return;
    Offered offered{&offered_part, flipped, turn, 0, odd_deg};
    // Its own turns count from the right way; turned over first, that turn runs the other way round.
    if (own) offered.quarter = (turn + (flipped ? 4 - place.quarter : place.quarter)) % 4;
    if (!revision.empty() && !flipped)
      for (std::size_t i = 0; i < offered_part.placements.size() && i < offered_part.quarter_turns.size(); ++i)
        if (offered_part.placements[i] == place.placement->id)
          offered.quarter = (turn + offered_part.quarter_turns[i]) % 4;
    if (same_as_right(place, offered)) return;
    WrongWay way;
    way.part = place.part->id;
    way.placement = place.placement->id;
    way.turn_deg = 90.0 * turn + odd_deg;
    way.flipped = flipped;
    way.as = own || (!revision.empty() && offered_part.id == place.part->id) ? "" : offered_part.id;
    way.revision = revision;
    const std::string head = offered_as(way);
    Block block;
    try {
      block = judge(place, offered, way);
    } catch (const Error& error) {
      block = {"edge", std::string("it reaches where the frame's shape is not known: ") + error.what()};
    }
    way.bolts_up = block.what.empty();
    if (way.bolts_up) {
      way.consequence = head + " bolts up: " + what_follows(way, offered_part);
    } else {
      way.blocked_by = block.what;
      way.consequence = head + " does not go on: " + block.why;
      way.seat_gap_mm = way.height_change_mm = 0;
      way.where = {};
    }
    ways.push_back(std::move(way));
  }

  Block judge(const Place& place, Offered& offered, WrongWay& way) {
    const Surroundings s = around(place);
    Block block = blocked_by_holes(s, offered);
    if (!block.what.empty()) return block;
    offered.lift_mm = seating_lift_mm(s, offered);
    const Faces& f = faces(*offered.part);
    block = blocked_by_bodies(s, offered, offered.flipped ? f.up : f.down);
    if (!block.what.empty()) return block;
    const WayScrews& screws = screws_of(*place.part);
    const Contact contact = contact_of(s, offered, screws);
    way.seat_gap_mm = contact.gap_mm;
    way.where = contact.where + place.placement->at;
    way.height_change_mm = contact.drop_mm - right_drop(place, s);
    const ScrewState state = screws_in(s, offered, screws, contact.drop_mm);
    if (!state.blocked.empty()) return {"screw", state.blocked};
    way.screws_hold = state.hold;
    screw_words_ = state.words;
    half_ = half_size(*place.part, place.quarter);
    at_ = place.placement->at;
    if (offered.flipped) way.tilt_deg = resting_deg(s, offered);
    return {};
  }

  static Vec2 half_size(const Part& part, int quarter) {
    const PlaneBox box = bounding_box(transformed(part.features.front().profile.front(), quarter_turn(2, quarter)));
    return 0.5 * (box.high - box.low);
  }

  std::string what_follows(const WrongWay& way, const Part& offered) const {
    std::string text;
    const auto add = [&](const std::string& words) { text += (text.empty() ? "" : ", ") + words; };
    if (way.seat_gap_mm > harmless_mm)
      add(decimal(way.seat_gap_mm, 2) + " mm of gap " + spot_words(way.where - at_, half_));
    if (std::fabs(way.height_change_mm) > harmless_mm)
      add(decimal(std::fabs(way.height_change_mm), 2) + " mm too " + (way.height_change_mm > 0 ? "high" : "low") +
          " beside the others");
    if (way.flipped && way.tilt_deg > 0.1 && follows_frame(offered))
      add("it comes to rest " + decimal(way.tilt_deg, 1) + " deg out of level");
    for (const std::string& words : screw_words_) add(words);
    if (text.empty()) return "no difference that matters (" + decimal(way.worst_mm(), 3) + " mm)";
    return text + "; " + mark_words(way, offered);
  }

  const Kit& kit_;
  const Layout& layout_;
  const std::vector<Part>& parts_;
  std::vector<Place> places_;
  std::map<const Part*, Faces> faces_;
  std::map<const Part*, WayScrews> screws_;
  std::map<const Place*, double> right_drops_;
  // Of the way in hand, for its sentence.
  std::vector<std::string> screw_words_;
  Vec2 half_, at_;
};

}  // namespace

double WrongWay::worst_mm() const {
  return std::max(seat_gap_mm, std::fabs(height_change_mm));
}

std::vector<WrongWay> wrong_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts) {
  return Finder(kit, layout, parts).all();
}

int open_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
              const std::vector<std::string>& concerns, int enough) {
  return Finder(kit, layout, parts).open(concerns, enough);
}

std::vector<WrongWay> old_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
                               const OldSet& old) {
  return Finder(kit, layout, parts).all_of(old);
}

std::vector<std::string> right_ways_blocked(const Kit& kit, const Layout& layout, const std::vector<Part>& parts) {
  return Finder(kit, layout, parts).right_ways_blocked();
}

}  // namespace bedwright
