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
  const Transform t = quarter_turn(2, offered.quarter - place.quarter);
  if (!offered.flipped) return same_shape(*place.part, *offered.part, t);
  const std::optional<Part> over = turned_over(*offered.part);
  return over && same_shape(level_topped(*place.part), *over, t);
}

std::string degrees(int quarter) {
  return std::to_string(90 * quarter) + " deg";
}

std::string offered_as(const WrongWay& way, int quarter) {
  std::string text = way.offered();
  if (!way.as.empty()) text += " in the place of " + way.part;
  const std::string turned = quarter == 0 ? "" : "turned by " + degrees(quarter);
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

std::string mark_words(const WrongWay& way, const Part& offered, int quarter) {
  if (!offered.visible_mark) return "no mark says so";
  if (way.flipped) return "its mark then faces down";
  if (!way.as.empty()) return "its mark then reads " + way.as + " where " + way.part + " belongs";
  const bool centre = offered.mark_text.find("centre") != std::string::npos;
  const bool arrow = offered.mark_text.find("arrow") != std::string::npos;
  if (!arrow) return "its mark then stands turned";
  const std::string to = centre ? "the machine's centre" : "the machine's front";
  return std::string("the mark's arrow then points ") + (quarter == 2 ? "away from " : "past ") + to;
}

class Finder {
 public:
  Finder(const Kit& kit, const Layout& layout, const std::vector<Part>& parts)
      : kit_(kit), layout_(layout), parts_(parts), places_(places_of(layout, parts)) {}

  std::vector<WrongWay> all() {
    std::vector<WrongWay> ways;
    for (const Place& place : places_)
      for (const Part& offered : parts_) {
        if (offered.family != place.part->family || !follows_frame(offered)) continue;
        for (const bool flipped : {false, true})
          for (int turn = 0; turn < 4; ++turn) try_way(place, offered, flipped, turn, ways);
      }
    std::stable_sort(ways.begin(), ways.end(), [](const WrongWay& a, const WrongWay& b) {
      if (a.bolts_up != b.bolts_up) return a.bolts_up;
      return a.bolts_up && rounded_length(a.worst_mm()) > rounded_length(b.worst_mm());
    });
    return ways;
  }

 private:
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
      s.neighbours.push_back(transformed(other.part->features.front().profile.front(),
                                         compose(shift({by.x, by.y, 0}), quarter_turn(2, other.quarter))));
    }
    return s;
  }

  void try_way(const Place& place, const Part& offered_part, bool flipped, int turn, std::vector<WrongWay>& ways) {
    const bool own = &offered_part == place.part;
    if (own && !flipped && turn == 0) return;
    Offered offered{&offered_part, flipped, turn, 0};
    // Its own turns count from the right way; turned over first, that turn runs the other way round.
    if (own) offered.quarter = (turn + (flipped ? 4 - place.quarter : place.quarter)) % 4;
    if (same_as_right(place, offered)) return;
    WrongWay way;
    way.part = place.part->id;
    way.placement = place.placement->id;
    way.turn_deg = 90.0 * turn;
    way.flipped = flipped;
    way.as = own ? "" : offered_part.id;
    const std::string head = offered_as(way, turn);
    Block block;
    try {
      block = judge(place, offered, way);
    } catch (const Error& error) {
      block = {"edge", std::string("it reaches where the frame's shape is not known: ") + error.what()};
    }
    way.bolts_up = block.what.empty();
    if (way.bolts_up) {
      way.consequence = head + " bolts up: " + what_follows(way, offered_part, turn);
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
    tilt_deg_ = offered.flipped ? slope_at(offered.part->seat, {}) / rad_per_deg : 0;
    return {};
  }

  static Vec2 half_size(const Part& part, int quarter) {
    const PlaneBox box = bounding_box(transformed(part.features.front().profile.front(), quarter_turn(2, quarter)));
    return 0.5 * (box.high - box.low);
  }

  std::string what_follows(const WrongWay& way, const Part& offered, int turn) const {
    std::string text;
    const auto add = [&](const std::string& words) { text += (text.empty() ? "" : ", ") + words; };
    if (way.seat_gap_mm > harmless_mm)
      add(decimal(way.seat_gap_mm, 2) + " mm of gap " + spot_words(way.where - at_, half_));
    if (std::fabs(way.height_change_mm) > harmless_mm)
      add(decimal(std::fabs(way.height_change_mm), 2) + " mm too " + (way.height_change_mm > 0 ? "high" : "low") +
          " beside the others");
    if (tilt_deg_ > 0.1) add("it rocks on a face " + decimal(tilt_deg_, 1) + " deg out of level");
    for (const std::string& words : screw_words_) add(words);
    if (text.empty()) return "no difference that matters (" + decimal(way.worst_mm(), 3) + " mm)";
    return text + "; " + mark_words(way, offered, turn);
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
  double tilt_deg_ = 0;
};

}  // namespace

double WrongWay::worst_mm() const {
  return std::max(seat_gap_mm, std::fabs(height_change_mm));
}

std::vector<WrongWay> wrong_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts) {
  return Finder(kit, layout, parts).all();
}

}  // namespace bedwright
