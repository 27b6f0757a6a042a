#include "parts/end_bracket.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/base_profile.h"
#include "layout/bracket_plan.h"
#include "parts/features.h"
#include "parts/loose_part.h"
#include "parts/marks.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double corner_mm = 4;           // of the outer corners: they lift less off the print bed
constexpr double pad_inset_mm = 0.6;      // of a pad from the body's faces
constexpr double least_under_head_mm = 3;  // plastic that a head clamps
constexpr double sink_step_mm = 0.5;
constexpr double skin_mm = 1.6;           // between a hole and a face above or below it
constexpr double roof_skin_mm = 2;        // over an opening
constexpr double open_corner_mm = 2;
constexpr double split_wall_mm = 8;       // plastic between the halves' faces and nut or head
constexpr double pocket_room_mm = 0.75;   // round a head, to every side
constexpr double nut_room_mm = 0.25;      // across a nut's flats
constexpr double pin_room_mm = 0.5;       // at the end of a pin
constexpr double pin_fit_mm = 0.1;        // a pin's hole is that much wider
constexpr double nut_washer_mm = 0.5;     // ISO 7089 M3; the table's own where it has the thread
constexpr double same_mm = 1e-6;

double table_value(const char* table, const std::string& thread, const char* key, double otherwise) {
  for (const Json& row : hardware_table(table).at("rows"))
    if (row.at("thread") == thread) return row.at(key).get<double>();
  return otherwise;
}

double head_bore_mm(const std::string& thread) {
  return find_thread(thread)->counterbore_mm;
}

Anchor anchor_of(const Json& from) {
  Anchor a;
  a.kind = from.at("kind").get<std::string>();
  a.depth_mm = from.at("depth_mm").get<double>();
  a.blind = a.kind == "carriage" || from.value("blind", false);
  a.pressed_from = from.value("pressed_from", "");
  return a;
}

Behind behind_of(const Json& from) {
  Behind b;
  if (!from.is_object()) {
    b.known = false;
    b.what = "unknown";
    return b;
  }
  b.what = from.value("what", "nothing");
  if (b.what != "nothing") b.clear_mm = from.value("clear_mm", 0.0);
  return b;
}

Joint started(const Kit& kit, const std::string& part, const std::string& material, const std::string& hole,
              const std::string& thread, int count) {
  Joint j;
  j.id = part + "-" + hole;
  j.thread = thread;
  j.stock_mm = stock_lengths_of(kit, thread);
  j.count = count;
  j.part = part;
  j.rules = kit.joint_rules;
  if (j.rules.clamp_limit_by_material) j.rules.clamp_limit_mpa = clamp_limit_mpa(material);
  return j;
}

/// A screw of the kit's list: through `plastic_mm` of the bracket, the gap to the base, and what lies before its thread.
Joint base_joint(const Kit& kit, const std::string& part, const std::string& material, int count, const Json& screw,
                 double clearance_mm, double plastic_mm) {
  const std::string thread = screw.at("screw").get<std::string>();
  Joint j = started(kit, part, material, "screw-" + screw.at("id").get<std::string>(), thread, count);
  j.head = screw.value("head", "socket");
  j.hole_mm = clearance_hole_mm(thread, screw.at("fit").get<std::string>());
  j.layers = {{part, plastic_mm, kit.joint_rules.printed_plus_minus_mm, true}};
  // Drawn against the base there is no gap; drawn away from it on the other side, all of it.
  if (clearance_mm > 0) j.layers.push_back({"gap to the base", clearance_mm / 2, clearance_mm / 2, false});
  if (const double between = screw.value("between_mm", 0.0); between > 0)
    j.layers.push_back({"base", between, 0, false});
  j.washer_mm = screw.value("washer_mm", 0.0);
  j.anchor = anchor_of(screw.at("anchor"));
  j.behind = behind_of(screw.value("behind", Json("unknown")));
  j.also_holds = screw.value("also_holds", "");
  j.purpose = part + " to the base";
  return j;
}

Along along_of(const std::string& axis) {
  return axis == "x" ? Along::x : axis == "y" ? Along::y : Along::z;
}

struct Half {
  std::string id;
  double left = 0, right = 0;
};

struct Designer {
  const Kit& kit;
  const Layout& layout;
  const PartRequest& request;
  const Json& s = request.settings;
  BracketPlan plan{};
  double up = 1;  ///< +Z of the print, in Z as installed
  double top = 0, pad_top = 0;
  std::vector<Vec2> inner{};  ///< the contour's corners, part frame
  std::vector<Feature> features{};  ///< without the outline; part frame
  struct Said {
    std::string text;
    double from = -1e9, to = 1e9;  ///< X of what it speaks of
  };
  std::vector<Said> said{};
  std::vector<Half> halves{};

  const Compensation& compensation() const { return kit.printer.compensation; }
  double y_of(double machine_y) const { return machine_y - plan.base_end_mm; }
  double z_of(double above_base) const { return base_face_mm(kit) + above_base - plan.low_mm; }

  void say(const std::string& text) { said.push_back({text}); }
  void say_at(double x, const std::string& text) { said.push_back({text, x, x}); }

  CannotBuild refuse(const char* code, const std::string& feature, const std::string& what,
                     const std::string& cure) const {
    return CannotBuild(code, request.id + ": " + what, cure, {feature});
  }

  void settle() {
    const std::string pose = s.value("pose", "auto");
    if (pose != "auto" && pose != "as_installed" && pose != "upside_down")
      throw refuse("bracket-pose", "outline",
                   "pose " + pose + " lays its contour on edge: walls would hang over, and the points of its holes lie "
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

  // --- the body ---

  void add_pads() {
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
        f.profile = {rectangle_loop(middle, {width, high - low}, open_corner_mm)};
        f.from = Bound::at(0);
        f.to = Bound::at(pad_top);
        f.at = {middle.x, middle.y, pad_top};
        features.push_back(std::move(f));
      }
      Feature seat;
      seat.id = "rail-seat-" + side;
      seat.kind = FeatureKind::seat;
      // Clear of the pad's edges, so that it is the pad's face that is read.
      seat.profile = {rectangle_loop({middle.x, (y_of(pad.from_mm) + y_of(pad.to_mm)) / 2},
                                     {width - 2, pad.to_mm - pad.from_mm}, 0)};
      seat.from = seat.to = Bound::at(pad_top);
      seat.at = {middle.x, (y_of(pad.from_mm) + y_of(pad.to_mm)) / 2, pad_top};
      seat.dimensions = {dimension("thickness", pad_top, height_tolerance_mm)};
      features.push_back(std::move(seat));
      say_at(pad.x_mm, "under the " + side + " rail it gives like a spring of " + decimal(pad.stiffness_n_mm, 0) +
                           " N/mm: a cantilever " + decimal(pad.lever_mm, 1) + " mm from the base's edge to the pad's "
                           "middle, " + decimal(pad.width_mm, 1) + " x " + decimal(plan.height_mm, 1) +
                           " mm of solid plastic, base and screws rigid");
    }
  }

  void add_contour() {
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

  void add_rail_slots() {
    const double hole = clearance_hole_mm(kit.rails.size.screw, "medium"), extra = s.at("slot_mm").get<double>();
    for (const BracketPad& pad : plan.pads) {
      int number = 0;
      const std::string side = pad.x_mm < 0 ? "left" : "right";
      for (const double y : pad.screws_y_mm)
        features.push_back(clearance_slot("rail-slot-" + side + "-" + std::to_string(++number), {pad.x_mm, y_of(y)},
                                          hole, extra, {1, 0}, Bound::open(), Bound::open(), pad_top, compensation()));
      if (pad.screws_y_mm.empty())
        say_at(pad.x_mm, "no screw hole of the " + side + " rail comes to lie on its pad: the rail only rests there");
    }
    if (extra > 0)
      say("slots let the rails' screws " + decimal(extra / 2, 2) +
          " mm to either side: set the rails by the bridge or the gauge, then tighten");
  }

  // --- holes across and along ---

  struct Stretch {
    double head = 0, far = 0;  ///< coordinates along the axis, from the head's face on
    bool square = false;       ///< the far face stands square to the axis over the whole hole
  };

  /// Where a line in plan, from `from` toward `way` along the axis, first meets the contour.
  double first_meeting(Along along, double at, double from, double way, double most) const {
    double nearest = most;
    for (std::size_t i = 0; i < inner.size(); ++i) {
      Vec2 a = inner[i], b = inner[(i + 1) % inner.size()];
      if (along == Along::x) {
        a = {a.y, a.x};
        b = {b.y, b.x};
      }
      if ((a.x <= at) == (b.x <= at)) continue;
      const double w = a.y + (b.y - a.y) * (at - a.x) / (b.x - a.x);
      if (way * (w - from) > same_mm) nearest = std::min(nearest, way * (w - from));
    }
    return nearest;
  }

  Stretch stretch_of(const Json& screw, Along along, double at, double radius, double* way) const {
    const std::string id = screw.at("id").get<std::string>();
    double from = y_of(plan.outer_mm);
    *way = -plan.outward();
    if (along == Along::x) {
      const bool left = screw.value("from", "left") == "left";
      from = left ? plan.left_mm : plan.right_mm;
      *way = left ? 1 : -1;
    }
    constexpr double none = 1e9;
    const double near = first_meeting(along, at - radius, from, *way, none),
                 here = first_meeting(along, at, from, *way, none),
                 beyond = first_meeting(along, at + radius, from, *way, none);
    const double back = y_of(plan.inner_mm), front = y_of(plan.outer_mm);
    const bool beside = along == Along::x && (at < std::min(back, front) + radius || at > std::max(back, front) - radius);
    if (here >= none || beside)
      throw refuse("bracket-screw", "screw-" + id, "the screw " + id + " does not come to the base",
                   "move it to where base lies behind the bracket, or measure base.outline_mm again");
    return {from, from + *way * here, std::fabs(near - here) < same_mm && std::fabs(beyond - here) < same_mm};
  }

  void add_screw(const Json& screw) {
    const std::string id = screw.at("id").get<std::string>(), thread = screw.at("screw").get<std::string>();
    const Along along = along_of(screw.at("along").get<std::string>());
    const Vec2 at = plane_size(screw.at("at_mm"));
    const double hole = clearance_hole_mm(thread, screw.at("fit").get<std::string>()), bore = head_bore_mm(thread);
    if (along == Along::z) {
      add_upright_screw(screw, {at.x, y_of(at.y)}, hole, bore);
      return;
    }
    const double z = z_of(at.y), across = along == Along::x ? y_of(at.x) : at.x;
    double way = 1;
    const Stretch run = stretch_of(screw, along, across, hole / 2, &way);
    const double plastic = way * (run.far - run.head);
    const double sink = sink_for(screw, plastic);
    const double wide = sink > 0 ? bore : hole, point = wide / 2 / std::sqrt(0.5);
    const double below = (up > 0 ? wide / 2 : point), above = (up > 0 ? point : wide / 2);
    if (z - below < skin_mm || z + above > top - skin_mm)
      throw refuse("bracket-screw", "screw-" + id,
                   "the screw " + id + " needs from " + decimal(below + skin_mm, 1) + " above the bracket's lower face to " +
                       decimal(above + skin_mm, 1) + " below its upper one; it stands " + decimal(z, 1) + " above and " +
                       decimal(top - z, 1) + " below",
                   "move it by " + decimal(std::max(below + skin_mm - z, z + above + skin_mm - top), 1) +
                       " mm, or make height_mm larger");
    const auto space = [&](double w) { return in_space(along, {across, z}, w); };
    const auto bounds = [&](double a, double b) {
      return std::make_pair(Bound::at(std::min(a, b)), Bound::at(std::max(a, b)));
    };
    const Vec3 out = (-way) * unit(along);
    const double bearing = run.head + way * sink;
    // From beyond the head's face, or the bore's floor, to beyond the far one.
    const auto whole = bounds(sink > 0 ? bearing : run.head - way * beyond_face_mm, run.far + way * beyond_face_mm);
    Feature f = teardrop_hole("screw-" + id, FeatureKind::clearance_hole, along, space(bearing), out, hole, whole.first,
                              whole.second, up, compensation());
    f.through = true;
    // Each face of the made part lies `grown` further out than drawn; the contour's is in the plan already.
    const double grown = compensation().outline_mm / 2;
    if (run.square)
      f.dimensions.push_back(dimension("depth", plastic - grown - sink, plastic - sink + (sink > 0 ? 0 : grown),
                                       2 * height_tolerance_mm));
    features.push_back(std::move(f));
    if (sink <= 0) return;
    const auto sunk = bounds(run.head - way * beyond_face_mm, bearing);
    Feature c = teardrop_hole("sink-" + id, FeatureKind::counterbore, along, space(run.head), out, bore, sunk.first,
                              sunk.second, up, compensation());
    c.dimensions.push_back(dimension("depth", sink, sink + grown, 2 * height_tolerance_mm));
    features.push_back(std::move(c));
  }

  /// Depth of the head below the bracket's face so that a stock length fits: the kit's, else the least in half
  /// millimetres.
  double sink_for(const Json& screw, double plastic) const {
    if (screw.contains("sink_mm")) return screw.at("sink_mm").get<double>();
    const std::string id = screw.at("id").get<std::string>();
    JointSolution first;
    for (double sink = 0; sink <= std::max(0.0, plastic - least_under_head_mm) + same_mm; sink += sink_step_mm) {
      const JointSolution solved = solve_window(base_joint(kit, request.id, material(), 1, screw,
                                                           s.at("clearance_mm").get<double>(), plastic - sink));
      if (solved.ok) return sink;
      if (sink == 0) first = solved;
    }
    throw refuse("no-screw-length", "screw-" + id, "for the screw " + id + ": " + first.why, first.remedy);
  }

  void add_upright_screw(const Json& screw, Vec2 at, double hole, double bore) {
    const std::string id = screw.at("id").get<std::string>();
    const double sink = sink_for(screw, top);
    features.push_back(
        clearance_hole("screw-" + id, at, hole, Bound::open(), Bound::open(), top - sink, compensation()));
    if (sink > 0) features.push_back(counterbore("sink-" + id, at, bore, top - sink, top, compensation()));
  }

  void add_opening(const Json& opening) {
    const std::string id = "opening-" + opening.at("id").get<std::string>(), what = opening.at("for").get<std::string>();
    const Along along = along_of(opening.at("along").get<std::string>());
    const Vec2 size = plane_size(opening.at("size_mm"));
    Vec2 at = plane_size(opening.at("at_mm"));
    Feature f;
    f.id = id;
    f.kind = FeatureKind::notch;
    f.effect = Effect::cut;
    f.along = along;
    f.from = f.to = Bound::open();
    if (along == Along::z) {
      at.y = y_of(at.y);
      f.profile = {rectangle_loop(at, size, open_corner_mm)};
      f.at = {at.x, at.y, top};
      f.through = true;
      if (std::fabs(size.x - size.y) > 1)
        f.dimensions = {dimension("width", std::min(size.x, size.y), height_tolerance_mm)};
      features.push_back(std::move(f));
      say_at(at.x, "opening for the " + what + ", from top to bottom");
      return;
    }
    at = {along == Along::x ? y_of(at.x) : at.x, z_of(at.y)};
    const double bed = up > 0 ? 0 : top, roof_side = up > 0 ? top : 0;
    double sill = at.y - up * size.y / 2;
    const double eaves = at.y + up * size.y / 2;
    const bool bridged = opening.at("roof") == "bridge";
    const double ridge = eaves + (bridged ? 0 : up * size.x / 2);
    const bool open_below = up * (sill - bed) <= skin_mm;
    if (open_below) sill = bed - up * beyond_face_mm;
    if (up * (roof_side - ridge) < roof_skin_mm - same_mm)
      throw refuse("bracket-opening", id,
                   "the opening for the " + what + ", with its roof of 45 degrees, comes within " +
                       decimal(up * (roof_side - ridge), 1) + " mm of the " + (up > 0 ? "upper" : "lower") + " face",
                   "lower it by " + decimal(roof_skin_mm - up * (roof_side - ridge), 1) +
                       " mm, make it narrower, raise the bracket (height_mm), or let it bridge (roof: bridge)");
    if (bridged && size.x > kit.printer.wishes.bridge_mm)
      throw refuse("bracket-opening", id,
                   "the opening for the " + what + " would bridge " + decimal(size.x, 1) + " mm; the printer bridges " +
                       decimal(kit.printer.wishes.bridge_mm, 1),
                   "give it a roof (roof: point), or make it narrower");
    std::vector<Vec2> corners = {{at.x - size.x / 2, sill}, {at.x + size.x / 2, sill}, {at.x + size.x / 2, eaves}};
    if (!bridged) corners.push_back({at.x, ridge});
    corners.push_back({at.x - size.x / 2, eaves});
    f.profile = {polygon_loop(corners)};
    f.through = !open_below;
    f.at = in_space(along, {at.x, (sill + eaves) / 2}, along == Along::y ? y_of(plan.outer_mm) : plan.left_mm);
    f.axis = along == Along::y ? Vec3{0, plan.outward(), 0} : Vec3{-1, 0, 0};
    f.dimensions = {dimension("width", size.x, height_tolerance_mm),
                    dimension(along == Along::x ? "y" : "x", at.x, position_tolerance_mm)};
    if (!open_below && up > 0) f.dimensions.push_back(dimension("sill", sill, height_tolerance_mm));
    features.push_back(std::move(f));
    say_at(along == Along::y ? at.x : 0, "opening for the " + what + (open_below ? ", open to the print bed's side" : "") +
                         (bridged ? "; its roof bridges " + decimal(size.x, 1) + " mm" : ", under a roof of 45 degrees"));
  }

  // --- halves ---

  void settle_halves() {
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

  /// Two pins beside one screw, all along X at half height, over the width of the section.
  void add_split_joint(double at) {
    const std::string thread = s.at("split_screw").get<std::string>();
    const double face = y_of(plan.outer_mm);
    const double depth =
        first_meeting(Along::y, at, face, -plan.outward(), std::fabs(plan.outer_mm - plan.inner_mm));
    const double nut_wide = table_value("nuts", thread, "across_flats_mm", 0) + nut_room_mm,
                 nut_high = table_value("nuts", thread, "height_mm", 0);
    const double bore = head_bore_mm(thread) + 2 * pocket_room_mm, pin = s.at("pin_mm").get<double>();
    const double room = 2 * (pin + 2 * skin_mm) + std::max(bore, nut_wide) + 2 * skin_mm;
    if (depth < room || top < std::max(bore, pin) + 2 * skin_mm + pin)
      throw refuse("bracket-split", "split",
                   "the section at x = " + decimal(at, 1) + " is " + decimal(std::min(depth, 999.0), 1) + " by " +
                       decimal(top, 1) + " mm; two pins and a screw need " + decimal(room, 1) + " by " +
                       decimal(std::max(bore, pin) + 2 * skin_mm + pin, 1),
                   "split it elsewhere (split_at_mm), or make it higher (height_mm)");
    const double middle = face - plan.outward() * depth / 2, z = top / 2;
    const double grip = 2 * split_wall_mm;
    const auto hole = [&](const std::string& id, double y, double diameter, double from, double to, double opens) {
      features.push_back(teardrop_hole(id, FeatureKind::clearance_hole, Along::x, {opens, y, z}, {opens < at ? -1.0 : 1.0, 0, 0},
                                       diameter, Bound::at(from), Bound::at(to), up, compensation()));
    };
    // A pin of three times its diameter in either half.
    const double pin_length = 6 * pin, reach = pin_length / 2 + pin_room_mm;
    for (const double side : {-1.0, 1.0})
      hole(side < 0 ? "pin-front" : "pin-rear", middle + side * (depth / 2 - skin_mm - pin), pin + pin_fit_mm, at - reach,
           at + reach, at);
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

  static Joint split_joint(const Kit& kit, const std::string& part, const std::string& material, int count,
                           const std::string& thread) {
    Joint j = started(kit, part, material, "split-screw", thread, count);
    j.layers = {{part, split_wall_mm, kit.joint_rules.printed_plus_minus_mm, true},
                {"the other half", split_wall_mm, kit.joint_rules.printed_plus_minus_mm, true}};
    j.hole_mm = clearance_hole_mm(thread, "medium");
    j.anchor = {"nut", table_value("nuts", thread, "height_mm", 0), false, ""};
    // The hole goes on as far again.
    j.behind.what = "the end of its hole";
    j.behind.clear_mm = split_wall_mm - table_value("nuts", thread, "height_mm", 0);
    j.purpose = "the halves of an end bracket";
    return j;
  }

  // --- the parts ---

  std::string material() const { return s.value("material", kit.printer.material); }

  /// Whether anything of the feature lies within the half.
  bool within(const Feature& f, const Half& half) const {
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

  bool split_at(double x) const { return halves.size() > 1 && std::fabs(x - halves[0].right) < same_mm; }

  Feature body(const Half& half) const {
    const double out = y_of(plan.outer_mm), back = y_of(plan.inner_mm);
    const auto loop = [&](double more) {
      const double left = split_at(half.left) ? half.left : half.left - more, right = split_at(half.right) ? half.right : half.right + more;
      const double face = out + plan.outward() * more, round_left = split_at(half.left) ? 0 : corner_mm,
                   round_right = split_at(half.right) ? 0 : corner_mm;
      const double in = -plan.outward();
      return hull_of_circles({{left + round_left, face + in * round_left},
                              {right - round_right, face + in * round_right},
                              {right, back},
                              {left, back}},
                             {round_left, round_right, 0, 0});
    };
    Feature f = outline(loop(0), loop(compensation().outline_mm / 2), Bound::at(0), Bound::at(top), 0,
                        kit.tolerance.chord_mm);
    // How far it reaches back is the contour's to say.
    f.dimensions.resize(1);
    f.dimensions.push_back(dimension("thickness", top, height_tolerance_mm));
    return f;
  }

  Part part_of(const Half& half) const {
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
      if (own.along == Along::x && own.from.kind == Bound::Kind::flat && own.from.z_mm < half.left - same_mm &&
          split_at(half.left))
        own.axis = {-1, 0, 0}, own.at.x = half.left;
      if (own.along == Along::x && own.to.kind == Bound::Kind::flat && own.to.z_mm > half.right + same_mm &&
          split_at(half.right))
        own.axis = {1, 0, 0}, own.at.x = half.right;
    }
    if (halves.size() > 1 && half.left == plan.left_mm) {
      const double pin = s.at("pin_mm").get<double>();
      part.bought.push_back({"dowel pin ISO 8734 " + decimal(pin, 1) + "x" + decimal(6 * pin, 1), 2,
                             "the halves of " + request.id});
    }
    return part;
  }

  /// Turned by quarters, as parts are laid on the bed.
  void refuse_length() const {
    const double bed = std::max(kit.printer.bed_mm.x, kit.printer.bed_mm.y);
    for (const Half& half : halves)
      if (half.right - half.left > bed)
        throw refuse("bracket-long", "outline",
                     half.id + " is " + decimal(half.right - half.left, 1) + " mm long, the print bed " + decimal(bed, 1),
                     halves.size() > 1 ? "move split_at_mm to its middle" : "let it be made in two halves (split)");
  }

  /// Screws leave a skin between themselves and each other, and openings.
  void refuse_crowding() const {
    const auto box_of = [&](const Feature& f) {
      PlaneBox b = bounding_box(f.profile.front());
      const double low = f.from.kind == Bound::Kind::flat ? f.from.z_mm : -1e6,
                   high = f.to.kind == Bound::Kind::flat ? f.to.z_mm : 1e6;
      const Vec3 p = in_space(f.along, b.low, low), q = in_space(f.along, b.high, high);
      return Box{p, q};
    };
    const auto is_screw = [](const Feature& f) {
      return f.kind == FeatureKind::clearance_hole || f.kind == FeatureKind::slot || f.kind == FeatureKind::counterbore;
    };
    const auto is_opening = [](const Feature& f) { return f.kind == FeatureKind::notch && f.id != "contour"; };
    // What belongs to one screw, or to the joint between the halves, meets as drawn.
    const auto family = [](const std::string& id) {
      for (const char* own : {"pin-", "split-screw", "nut-pocket", "head-pocket"})
        if (id.rfind(own, 0) == 0) return std::string("split");
      for (const char* own : {"screw-", "sink-"})
        if (id.rfind(own, 0) == 0) return id.substr(std::string(own).size());
      return id.rfind("rail-slot-", 0) == 0 ? std::string("rail-slot") : id;
    };
    for (std::size_t i = 0; i < features.size(); ++i)
      for (std::size_t k = 0; k < i; ++k) {
        const Feature &a = features[k], &b = features[i];
        const bool screw_a = is_screw(a), screw_b = is_screw(b);
        if (!(screw_a || is_opening(a)) || !(screw_b || is_opening(b)) || !(screw_a || screw_b)) continue;
        if (family(a.id) == family(b.id)) continue;
        const Box p = box_of(a), q = box_of(b);
        const double gap = std::max({p.low.x - q.high.x, q.low.x - p.high.x, p.low.y - q.high.y, q.low.y - p.high.y,
                                     p.low.z - q.high.z, q.low.z - p.high.z});
        if (gap >= skin_mm) continue;
        throw refuse("bracket-crowded", b.id,
                     b.id + " and " + a.id + (gap > 0 ? " leave " + decimal(gap, 1) + " mm between them"
                                                      : std::string(" run into each other")),
                     "move one of them by " + decimal(skin_mm - gap, 1) + " mm or more");
      }
  }

  std::vector<Part> run() {
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
    for (const Half& half : halves) parts.push_back(part_of(half));
    return parts;
  }
};

double under_head_mm(const Feature& hole) {
  const double far = hole.axis.x + hole.axis.y + hole.axis.z > 0 ? hole.from.z_mm + beyond_face_mm
                                                                 : hole.to.z_mm - beyond_face_mm;
  return std::fabs(along_axis(hole.along, hole.at) - far);
}

}  // namespace

std::vector<Part> derive_end_bracket(const Kit& kit, const Layout& layout, const PartRequest& request) {
  return Designer{kit, layout, request}.run();
}

void mark_end_bracket(const Kit& kit, const Layout&, const PartRequest&, Part& part) {
  MarkWish wish;
  wish.words = words_of_id(part.id);
  wish.words.push_back(kit.revision);
  wish.words.push_back("UP");
  wish.arrow = Arrow{{0, -1}, "F", "arrow to the front"};
  engrave(part, wish, "upper face");
}

std::vector<Joint> bracket_joints(const Kit& kit, const Part& part) {
  std::vector<Joint> joints;
  const std::string& thread = kit.rails.size.screw;
  for (const Feature& f : part.features) {
    if (f.id.rfind("rail-slot-", 0) == 0) {
      Joint j = started(kit, part.id, part.material, f.id, thread, part.quantity);
      j.layers = {{"rail", kit.rails.under_head_mm, 0, false},
                  {part.id, f.at.z, kit.joint_rules.printed_plus_minus_mm, true}};
      j.hole_mm = clearance_hole_mm(thread, "medium");
      j.slot_mm = part.settings.at("slot_mm").get<double>();
      j.nut_washer_mm = table_value("washers", thread, "thickness_mm", nut_washer_mm);
      j.anchor = {"nut", table_value("nuts", thread, "height_mm", 0), false, ""};
      j.behind = behind_of(part.settings.value("below", Json("unknown")));
      j.purpose = "rails to " + part.id;
      joints.push_back(std::move(j));
    } else if (f.id == "split-screw" && f.axis.x < 0) {
      joints.push_back(Designer::split_joint(kit, part.id, part.material, part.quantity,
                                             part.settings.at("split_screw").get<std::string>()));
    }
    for (const Json& screw : part.settings.value("screws", Json::array()))
      if (f.id == "screw-" + screw.at("id").get<std::string>())
        joints.push_back(base_joint(kit, part.id, part.material, part.quantity, screw,
                                    part.settings.at("clearance_mm").get<double>(),
                                    crosses(f) ? under_head_mm(f) : f.at.z));
  }
  return joints;
}

}  // namespace bedwright
