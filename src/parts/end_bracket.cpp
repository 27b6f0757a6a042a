#include "parts/end_bracket.h"

#include <algorithm>

#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/base_profile.h"
#include "parts/bracket_designer.h"
#include "parts/marks.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double corner_mm = 4;       // of the outer corners: they lift less off the print bed
constexpr double pad_inset_mm = 0.6;  // of a pad from the body's faces

}  // namespace

CannotBuild BracketDesigner::refuse(const char* code, const std::string& feature, const std::string& what,
                                    const std::string& cure) const {
  return CannotBuild(code, request.id + ": " + what, cure, {feature});
}

void BracketDesigner::settle() {
  const std::string pose = s.value("pose", "auto");
  if (pose != "auto" && pose != "as_installed" && pose != "upside_down")
    throw refuse("bracket-pose", "outline",
                 "pose " + pose +
                     " lays its contour on edge: walls would hang over, and the points of its holes lie "
                     "sideways",
                 "leave pose out, or write as_installed or upside_down");
  up = pose == "upside_down" ? -1 : 1;
  plan = bracket_plan(kit, layout, request);
  top = plan.height_mm;
  pad_top = top + plan.pad_height_mm;
  Loop loop = transformed(plan.inner, shift({0, -plan.base_end_mm, 0}));
  plan.inner = loop;
  inner = polygonised(loop, kit.tolerance.chord_mm);
}

void BracketDesigner::add_pads() {
  const double width = s.at("pad_width_mm").get<double>();
  const double face = y_of(plan.outer_mm) - plan.outward() * pad_inset_mm,
               back = y_of(plan.inner_mm) + plan.outward() * pad_inset_mm;
  const double low = std::min(face, back), high = std::max(face, back);
  for (const BracketPad& pad : plan.pads) {
    const std::string side = pad.x_mm < 0 ? "left" : "right";
    const Vec2 middle{pad.x_mm, (low + high) / 2};
    if (plan.pad_height_mm > 0) {
      Feature f;
      f.id = "pad-" + side;
      f.kind = FeatureKind::boss;
      f.effect = Effect::add;
      f.profile = {rectangle_loop(middle, {width, high - low}, bracket_open_corner_mm)};
      f.from = Bound::at(0);
      f.to = Bound::at(pad_top);
      f.at = {middle.x, middle.y, pad_top};
      features.push_back(std::move(f));
    }
    Feature seat;
    seat.id = "rail-seat-" + side;
    seat.kind = FeatureKind::seat;
    // Clear of the pad's edges, so that it is the pad's face that is read.
    seat.profile = {
        rectangle_loop({middle.x, (y_of(pad.from_mm) + y_of(pad.to_mm)) / 2}, {width - 2, pad.to_mm - pad.from_mm}, 0)};
    seat.from = seat.to = Bound::at(pad_top);
    seat.at = {middle.x, (y_of(pad.from_mm) + y_of(pad.to_mm)) / 2, pad_top};
    seat.dimensions = {dimension("thickness", pad_top, height_tolerance_mm)};
    features.push_back(std::move(seat));
    say_at(pad.x_mm, "under the " + side + " rail it gives like a spring of " + decimal(pad.stiffness_n_mm, 0) +
                         " N/mm: a cantilever " + decimal(pad.lever_mm, 1) +
                         " mm from the base's edge to the pad's "
                         "middle, " +
                         decimal(pad.width_mm, 1) + " x " + decimal(plan.height_mm, 1) +
                         " mm of solid plastic, base and screws rigid");
  }
}

void BracketDesigner::add_contour() {
  Feature f;
  f.id = "contour";
  f.kind = FeatureKind::notch;
  f.effect = Effect::cut;
  f.profile = {plan.inner};
  f.from = f.to = Bound::open();
  f.at = {0, y_of(plan.base_end_mm), top};
  // The surface strays from the curve by a facet's chord.
  f.dimensions = {dimension("deviation", 0, kit.tolerance.chord_mm + height_tolerance_mm)};
  features.push_back(std::move(f));
  say("its inner outline runs " + decimal(s.at("clearance_mm").get<double>(), 2) +
      " mm off the base's, over all its steps within " + decimal(s.at("reach_mm").get<double>(), 1) +
      " mm of the base's end");
}

void BracketDesigner::add_rail_slots() {
  const double hole = clearance_hole_mm(kit.rails.size.screw, "medium"), extra = s.at("slot_mm").get<double>();
  for (const BracketPad& pad : plan.pads) {
    int number = 0;
    const std::string side = pad.x_mm < 0 ? "left" : "right";
    for (const double y : pad.screws_y_mm)
      features.push_back(clearance_slot("rail-slot-" + side + "-" + std::to_string(++number), {pad.x_mm, y_of(y)}, hole,
                                        extra, {1, 0}, Bound::open(), Bound::open(), pad_top, compensation()));
    if (pad.screws_y_mm.empty())
      say_at(pad.x_mm, "no screw hole of the " + side + " rail comes to lie on its pad: the rail only rests there");
  }
  if (extra > 0)
    say("slots let the rails' screws " + decimal(extra / 2, 2) +
        " mm to either side: set the rails by the bridge or the gauge, then tighten");
}

bool BracketDesigner::within(const Feature& f, const BracketHalf& half) const {
  if (f.along == Along::x) {
    const double low = f.from.kind == Bound::Kind::flat ? f.from.z_mm : -1e9,
                 high = f.to.kind == Bound::Kind::flat ? f.to.z_mm : 1e9;
    return high > half.left && low < half.right;
  }
  for (const Loop& loop : f.profile) {
    const PlaneBox b = bounding_box(loop);
    if (b.high.x > half.left && b.low.x < half.right) return true;
  }
  return false;
}

Feature BracketDesigner::body(const BracketHalf& half) const {
  const double out = y_of(plan.outer_mm), back = y_of(plan.inner_mm);
  const auto loop = [&](double more) {
    const double left = split_at(half.left) ? half.left : half.left - more,
                 right = split_at(half.right) ? half.right : half.right + more;
    const double face = out + plan.outward() * more, round_left = split_at(half.left) ? 0 : corner_mm,
                 round_right = split_at(half.right) ? 0 : corner_mm;
    const double in = -plan.outward();
    return hull_of_circles({{left + round_left, face + in * round_left},
                            {right - round_right, face + in * round_right},
                            {right, back},
                            {left, back}},
                           {round_left, round_right, 0, 0});
  };
  Feature f =
      outline(loop(0), loop(compensation().outline_mm / 2), Bound::at(0), Bound::at(top), 0, kit.tolerance.chord_mm);
  // How far it reaches back is the contour's to say.
  f.dimensions.resize(1);
  f.dimensions.push_back(dimension("thickness", top, height_tolerance_mm));
  return f;
}

Part BracketDesigner::part_of(const BracketHalf& half) const {
  Part part = loose_part(kit, request);
  part.id = half.id;
  part.seat.height = pad_top;
  part.stands_at = Vec3{0, plan.base_end_mm, plan.low_mm};
  for (const Said& one : said)
    if (one.to >= half.left && one.from <= half.right) part.statements.push_back(one.text);
  part.features.push_back(body(half));
  for (const Feature& f : features) {
    if (!within(f, half)) continue;
    part.features.push_back(f);
    Feature& own = part.features.back();
    // Blind in either half: what a pin's or the screw's hole measures is its half of it.
    if (own.along == Along::x && own.from.kind == Bound::Kind::flat && own.from.z_mm < half.left - bracket_same_mm &&
        split_at(half.left))
      own.axis = {-1, 0, 0}, own.at.x = half.left;
    if (own.along == Along::x && own.to.kind == Bound::Kind::flat && own.to.z_mm > half.right + bracket_same_mm &&
        split_at(half.right))
      own.axis = {1, 0, 0}, own.at.x = half.right;
  }
  for (Feature& f : bed_edges(half)) part.features.push_back(std::move(f));
  if (halves.size() > 1 && half.left == plan.left_mm) {
    const double pin = s.at("pin_mm").get<double>();
    part.bought.push_back(
        {"dowel pin ISO 8734 " + decimal(pin, 1) + "x" + decimal(6 * pin, 1), 2, "the halves of " + request.id});
  }
  return part;
}

void BracketDesigner::refuse_length() const {
  const double bed = std::max(kit.printer.bed_mm.x, kit.printer.bed_mm.y);
  for (const BracketHalf& half : halves)
    if (half.right - half.left > bed)
      throw refuse("bracket-long", "outline",
                   half.id + " is " + decimal(half.right - half.left, 1) + " mm long, the print bed " + decimal(bed, 1),
                   halves.size() > 1 ? "move split_at_mm to its middle" : "let it be made in two halves (split)");
}

std::vector<Part> BracketDesigner::run() {
  settle();
  add_pads();
  add_contour();
  add_rail_slots();
  for (const Json& screw : s.value("screws", Json::array())) add_screw(screw);
  for (const Json& opening : s.value("openings", Json::array())) add_opening(opening);
  settle_halves();
  refuse_crowding();
  refuse_length();
  if (s.value("screws", Json::array()).empty())
    say("no screw holds it on the base: list them in `screws`, as the base's threads lie");
  if (const double over = s.at("overhang_mm").get<double>(); over > 0)
    say("the rails run " + decimal(over, 1) + " mm past it");
  say("height " + decimal(plan.height_mm, 1) + " mm" +
      (plan.wanted_n_mm > 0 && !s.contains("height_mm")
           ? ", the least in whole layers that gives " + decimal(plan.wanted_n_mm, 0) + " N/mm"
           : std::string()));
  say("holes along X and Y are teardrops, their points " + std::string(up > 0 ? "up" : "down") +
      " as installed, which is up in print; no insert is pressed in from the side, where its pocket "
      "would have to bridge");
  std::vector<Part> parts;
  for (const BracketHalf& half : halves) parts.push_back(part_of(half));
  return parts;
}

std::vector<Part> derive_end_bracket(const Kit& kit, const Layout& layout, const PartRequest& request) {
  return BracketDesigner{kit, layout, request}.run();
}

void mark_end_bracket(const Kit& kit, const Layout&, const PartRequest&, Part& part) {
  MarkWish wish;
  wish.words = words_of_id(part.id);
  wish.words.push_back(kit.revision);
  wish.words.push_back("UP");
  wish.arrow = Arrow{{0, -1}, "F", "arrow to the front"};
  engrave(part, wish, "upper face");
}

}  // namespace bedwright
