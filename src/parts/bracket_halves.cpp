// An end bracket in two halves: pins, one screw, its nut.
#include <algorithm>

#include "base/numbers.h"
#include "kit/hardware.h"
#include "parts/bracket_designer.h"
#include "parts/end_bracket.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double pocket_room_mm = 0.75;  // round a head, to every side
constexpr double nut_room_mm = 0.25;     // across a nut's flats
constexpr double pin_room_mm = 0.5;      // at the end of a pin
constexpr double pin_fit_mm = 0.1;       // a pin's hole is that much wider

}  // namespace

void BracketDesigner::settle_halves() {
  if (!s.at("split").get<bool>()) {
    halves = {{request.id, plan.left_mm, plan.right_mm}};
    return;
  }
  const double at = s.at("split_at_mm").get<double>();
  for (const BracketPad& pad : plan.pads)
    if (std::fabs(at - pad.x_mm) < s.at("pad_width_mm").get<double>() / 2 + split_wall_mm)
      throw refuse("bracket-split", "split", "the split at x = " + decimal(at, 1) + " runs through a pad",
                   "move split_at_mm between the rails");
  halves = {{request.id + "-left", plan.left_mm, at}, {request.id + "-right", at, plan.right_mm}};
  add_split_joint(at);
}

void BracketDesigner::add_split_joint(double at) {
  const std::string thread = s.at("split_screw").get<std::string>();
  const double face = y_of(plan.outer_mm);
  const double depth = first_meeting(Along::y, at, face, -plan.outward(), std::fabs(plan.outer_mm - plan.inner_mm));
  const double nut_wide = table_value("nuts", thread, "across_flats_mm", 0) + nut_room_mm,
               nut_high = table_value("nuts", thread, "height_mm", 0);
  const double bore = head_bore_mm(thread) + 2 * pocket_room_mm, pin = s.at("pin_mm").get<double>();
  const double room = 2 * (pin + 2 * bracket_skin_mm) + std::max(bore, nut_wide) + 2 * bracket_skin_mm;
  if (depth < room || top < std::max(bore, pin) + 2 * bracket_skin_mm + pin)
    throw refuse("bracket-split", "split",
                 "the section at x = " + decimal(at, 1) + " is " + decimal(std::min(depth, 999.0), 1) + " by " +
                     decimal(top, 1) + " mm; two pins and a screw need " + decimal(room, 1) + " by " +
                     decimal(std::max(bore, pin) + 2 * bracket_skin_mm + pin, 1),
                 "split it elsewhere (split_at_mm), or make it higher (height_mm)");
  const double middle = face - plan.outward() * depth / 2, z = top / 2;
  const double grip = 2 * split_wall_mm;
  const auto hole = [&](const std::string& id, double y, double diameter, double from, double to, double opens) {
    features.push_back(teardrop_hole(id, FeatureKind::clearance_hole, Along::x, {opens, y, z},
                                     {opens < at ? -1.0 : 1.0, 0, 0}, diameter, Bound::at(from), Bound::at(to), up,
                                     compensation()));
  };
  // A pin of three times its diameter in either half.
  const double pin_length = 6 * pin, reach = pin_length / 2 + pin_room_mm;
  for (const double side : {-1.0, 1.0})
    hole(side < 0 ? "pin-front" : "pin-rear", middle + side * (depth / 2 - bracket_skin_mm - pin), pin + pin_fit_mm,
         at - reach, at + reach, at);
  hole("split-screw", middle, clearance_hole_mm(thread, "medium"), at - grip, at + grip, at);
  features.back().through = true;  // from the face between the halves to the nut's, or the head's, pocket
  // From above, so that their walls stand up in print: a nut to the left, the head and its way in to the right.
  Feature nut;
  nut.id = "nut-pocket";
  nut.kind = FeatureKind::notch;
  nut.effect = Effect::cut;
  const double nut_from = at - split_wall_mm - nut_high - nut_room_mm;
  nut.profile = {rectangle_loop({(nut_from + at - split_wall_mm) / 2, middle}, {nut_high + nut_room_mm, nut_wide}, 0)};
  // A corner of the nut points down.
  const double nut_floor = z - up * (nut_wide / std::sqrt(3.0) + nut_room_mm);
  nut.from = up > 0 ? Bound::at(nut_floor) : Bound::open();
  nut.to = up > 0 ? Bound::open() : Bound::at(nut_floor);
  nut.at = {nut_from, middle, nut_floor};
  nut.dimensions = {dimension("width", nut_high + nut_room_mm, height_tolerance_mm)};
  Feature pocket = nut;
  pocket.id = "head-pocket";
  const Joint joint = split_joint(kit, request.id, material(), 1, thread);
  const JointSolution solved = solve_window(joint);
  const double length = solved.pick_mm.value_or(30) + find_cap_screw(thread)->head_height_mm + 1;
  pocket.profile = {rectangle_loop({at + split_wall_mm + length / 2, middle}, {length, bore}, 0)};
  const double floor = z - up * bore / 2;
  (up > 0 ? pocket.from : pocket.to) = Bound::at(floor);
  pocket.at = {at + split_wall_mm, middle, floor};
  pocket.dimensions = {dimension("width", bore, height_tolerance_mm)};
  features.push_back(std::move(nut));
  features.push_back(std::move(pocket));
  say("two halves: put both pins in, drop the nut in from " + std::string(up > 0 ? "above" : "below") +
      ", and draw them together with the screw before the bracket goes onto the base");
}

}  // namespace bedwright
