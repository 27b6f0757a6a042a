#include "checks/interference.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/numbers.h"
#include "base/trig.h"
#include "checks/checks.h"
#include "kit/hardware.h"
#include "layout/base_profile.h"
#include "parts/adapter_plate.h"
#include "solid/build.h"
#include "solid/meet.h"

namespace bedwright {
namespace {

constexpr int screw_sides = 32;
// A stop stands up from the rail by a screw's head or a clamp: common practice, no source.
constexpr double stop_rise_mm = 2;
constexpr double edge_slack_mm = 1e-6;

/// A screw as installed: head and shank on one upright axis.
struct Rod {
  Vec2 axis;
  double radius = 0, low = 0, high = 0;
};

struct Screw {
  std::string name, placement;
  bool in_carriage = false;
  Rod shank, head;
};

struct Plate {
  std::string name, part;
  Mesh mesh;
  Box box;
};

struct Solid {
  std::string name;
  Box box;
};

Vec3 middle(const Box& b) {
  return 0.5 * (b.low + b.high);
}

/// Smaller by the contact tolerance on every side.
std::optional<Box> inset(Box box, double by) {
  box.low = box.low + Vec3{by, by, by};
  box.high = box.high - Vec3{by, by, by};
  if (box.low.x >= box.high.x || box.low.y >= box.high.y || box.low.z >= box.high.z) return std::nullopt;
  return box;
}

std::optional<Box> common(const Box& a, const Box& b) {
  const Box c{{std::max(a.low.x, b.low.x), std::max(a.low.y, b.low.y), std::max(a.low.z, b.low.z)},
              {std::min(a.high.x, b.high.x), std::min(a.high.y, b.high.y), std::min(a.high.z, b.high.z)}};
  if (c.low.x >= c.high.x || c.low.y >= c.high.y || c.low.z >= c.high.z) return std::nullopt;
  return c;
}

Box box_of(const Rod& rod) {
  return {{rod.axis.x - rod.radius, rod.axis.y - rod.radius, rod.low},
          {rod.axis.x + rod.radius, rod.axis.y + rod.radius, rod.high}};
}

void set_depth(Interference& i, const Box& shared) {
  const Vec3 side = shared.high - shared.low;
  i.depth_mm = std::min({side.x, side.y, side.z});
  i.axis = i.depth_mm == side.z ? 'z' : i.depth_mm == side.x ? 'x' : 'y';
  i.at = middle(shared);
}

class Scene {
 public:
  Scene(const Kit& kit, const Layout& layout, const std::vector<KnownPart>& parts,
        const std::vector<JointSolution>& joints)
      : kit_(kit), layout_(layout), touch_(kit.tolerance.chord_mm), half_travel_(layout.travel_needed_mm / 2) {
    const CarriageSize& carriage = kit.carriages.size;
    const Vec3 half{carriage.width_mm / 2, carriage.length_mm / 2, 0};
    for (const Placement& p : layout.placements) {
      const Vec3 at{p.at.x, p.at.y, 0};
      carriages_.push_back({"carriage " + p.id, {at - half - Vec3{0, 0, carriage.assembly_height_mm}, at + half}});
    }
    for (const KnownPart& p : parts)
      if (p.part->family == "adapter_plate") add_plate(p, joints);
    add_fixed();
    for (const KnownPart& p : parts)
      if (p.part->stands_at && p.measured) add_standing(p, joints);
  }

  std::vector<Interference> all() {
    for (std::size_t i = 0; i < plates_.size(); ++i) {
      const Plate& plate = plates_[i];
      for (std::size_t k = i + 1; k < plates_.size(); ++k)
        if (common(plate.box, plates_[k].box))
          if (const auto o = overlap(plate.mesh, plates_[k].mesh, touch_))
            add(plate.name, plates_[k].name, plate.part, o->box);
      for (const Solid& carriage : carriages_) meet_box(plate, carriage);
      for (const Solid& fixed : fixed_) sweep_mesh(plate, fixed);
      meet_sheet(plate);
      for (const Screw& screw : screws_) meet_screw(plate, screw);
    }
    for (std::size_t i = 0; i < screws_.size(); ++i) {
      for (std::size_t k = i + 1; k < screws_.size(); ++k) meet_rods(screws_[i], screws_[k]);
      for (const Solid& carriage : carriages_) screw_and_carriage(screws_[i], carriage);
      for (const Solid& fixed : fixed_)
        for (const Rod* rod : {&screws_[i].shank, &screws_[i].head}) sweep_box(screws_[i].name, box_of(*rod), fixed);
      head_and_sheet(screws_[i]);
    }
    for (const Solid& carriage : carriages_)
      for (const Solid& fixed : fixed_)
        if (stands_up(fixed) || stands_on_base(fixed)) sweep_box(carriage.name, carriage.box, fixed);
    for (const Solid& rail : fixed_)
      if (is_rail(rail))
        for (const Solid& fixed : fixed_)
          if (stands_up(fixed)) rail_in(rail, fixed);
    for (const Solid& patch : sheet_patches())
      for (const Solid& fixed : fixed_) sweep_box(patch.name, patch.box, fixed);
    for (std::size_t i = 0; i < standing_.size(); ++i) standing_in_fixed(i);
    std::stable_sort(found_.begin(), found_.end(),
                     [](const Interference& a, const Interference& b) { return a.depth_mm > b.depth_mm; });
    return std::move(found_);
  }

 private:
  static bool is_rail(const Solid& body) { return body.name == "left rail" || body.name == "right rail"; }
  /// Beside the rails a carriage or a rail may meet it.
  static bool stands_up(const Solid& body) {
    return body.name.rfind("keep-out", 0) == 0 || body.name.rfind("the base's", 0) == 0;
  }

  bool stands_on_base(const Solid& body) const {
    return body.name.rfind("the screw", 0) == 0 ||
           std::any_of(standing_.begin(), standing_.end(), [&](const Plate& p) { return p.name == body.name; });
  }

  /// Nothing of these moves.
  void rail_in(const Solid& rail, const Solid& fixed) {
    const auto box = inset(fixed.box, touch_);
    if (!box) return;
    if (const auto shared = common(rail.box, *box)) add(rail.name, fixed.name, "", *shared);
  }

  void add_plate(const KnownPart& p, const std::vector<JointSolution>& joints) {
    for (std::size_t i = 0; i < p.part->placements.size(); ++i)
      for (const Placement& placement : layout_.placements) {
        if (placement.id != p.part->placements[i]) continue;
        const int quarter = i < p.part->quarter_turns.size() ? p.part->quarter_turns[i] : 0;
        const Transform to_machine = compose(shift({placement.at.x, placement.at.y, 0}), quarter_turn(2, quarter));
        Plate plate{p.part->id + " at " + placement.id, p.part->id, {}, {}};
        if (p.measured) plate.mesh = transformed(p.measured->mesh, compose(to_machine, p.print_to_part));
        plate.box = bounding_box(plate.mesh);
        plates_.push_back(std::move(plate));
        add_screws(*p.part, placement, to_machine, joints);
      }
  }

  void add_screws(const Part& part, const Placement& placement, const Transform& to_machine,
                  const std::vector<JointSolution>& joints) {
    for (const Feature& f : part.features)
      for (const JointSolution& s : joints) {
        if (s.joint.id != part.id + "-" + f.id || !s.pick_mm) continue;
        const CapScrew* head = find_cap_screw(s.joint.thread);
        const ThreadSize* thread = find_thread(s.joint.thread);
        if (!head || !thread) continue;
        const Vec3 at = apply(to_machine, {f.at.x, f.at.y, 0});
        Screw screw;
        screw.name = "the screw of " + s.joint.id + " at " + placement.id;
        screw.placement = placement.id;
        screw.in_carriage = s.joint.anchor.kind == "carriage";
        double bearing = 0;
        if (screw.in_carriage)
          for (const JointLayer& layer : s.joint.layers) bearing += layer.mm;
        else
          bearing = height_at(layout_.underside, {at.x, at.y}) + kit_.frame.sheet_thickness_mm;
        screw.shank = {{at.x, at.y}, thread->diameter_mm / 2, bearing - *s.pick_mm, bearing};
        screw.head = {{at.x, at.y}, head->head_diameter_mm / 2, bearing, bearing + head->head_height_mm};
        screws_.push_back(screw);
      }
  }

  /// A part on the machine's base. What moves must not enter the boxes of its body and of what stands up on it; it may
  /// not enter what else is fixed with any facet.
  void add_standing(const KnownPart& p, const std::vector<JointSolution>& joints) {
    const Transform to_machine = shift(*p.part->stands_at);
    Plate body{p.part->id, p.part->id, transformed(p.measured->mesh, compose(to_machine, p.print_to_part)), {}};
    body.box = bounding_box(body.mesh);
    const double top = apply(to_machine, {0, 0, p.part->features.front().to.z_mm}).z;
    fixed_.push_back({p.part->id, {body.box.low, {body.box.high.x, body.box.high.y, std::min(top, body.box.high.z)}}});
    for (const Feature& f : p.part->features) {
      if (f.effect != Effect::add || f.kind == FeatureKind::outline || f.to.z_mm + p.part->stands_at->z <= top) continue;
      const PlaneBox b = bounding_box(f.profile.front());
      fixed_.push_back({p.part->id, {apply(to_machine, {b.low.x, b.low.y, f.from.z_mm}), apply(to_machine, {b.high.x, b.high.y, f.to.z_mm})}});
    }
    standing_.push_back(std::move(body));
    for (const Feature& f : p.part->features)
      for (const JointSolution& s : joints)
        if (s.joint.id == p.part->id + "-" + f.id && s.pick_mm && crosses(f)) add_lying_screw(f, s, to_machine);
  }

  /// A screw along X or Y, as the boxes of its head and its shank.
  void add_lying_screw(const Feature& f, const JointSolution& s, const Transform& to_machine) {
    const CapScrew* head = find_cap_screw(s.joint.thread);
    const ThreadSize* thread = find_thread(s.joint.thread);
    if (!head || !thread) return;
    const Vec3 bearing = apply(to_machine, f.at), across = Vec3{1, 1, 1} - unit(f.along);
    const auto rod = [&](Vec3 a, Vec3 b, double radius) {
      const Vec3 low{std::min(a.x, b.x), std::min(a.y, b.y), std::min(a.z, b.z)},
          high{std::max(a.x, b.x), std::max(a.y, b.y), std::max(a.z, b.z)};
      lying_.push_back({"the screw of " + s.joint.id, {low - radius * across, high + radius * across}});
      fixed_.push_back(lying_.back());
    };
    rod(bearing, bearing - *s.pick_mm * f.axis, thread->diameter_mm / 2);
    rod(bearing, bearing + head->head_height_mm * f.axis, head->head_diameter_mm / 2);
  }

  /// The base as its outline is, openings closed; as deep as is known, else past the box.
  Mesh base_mesh(const Box& box) const {
    if (!kit_.base || kit_.base->outline.curves.empty()) return {};
    const double face = base_face_mm(kit_);
    const double low = kit_.base->thickness_mm > 0 ? face - kit_.base->thickness_mm : std::min(box.low.z, face) - 1;
    Part base;
    base.id = "base";
    base.chord_mm = kit_.tolerance.chord_mm;
    Feature f;
    f.id = "outline";
    f.effect = Effect::add;
    f.profile = {kit_.base->outline};
    f.from = Bound::at(low);
    f.to = Bound::at(face);
    base.features.push_back(std::move(f));
    return build_solid(base);
  }

  void standing_in_fixed(std::size_t i) {
    const Plate& body = standing_[i];
    for (std::size_t k = i + 1; k < standing_.size(); ++k)
      if (common(body.box, standing_[k].box))
        if (const auto o = overlap(body.mesh, standing_[k].mesh, touch_)) add(body.name, standing_[k].name, body.part, o->box);
    for (const Solid& fixed : fixed_) {
      if (fixed.name == body.name || fixed.name.rfind("the screw", 0) == 0) continue;
      if (kit_.base && fixed.name == "base") continue;  // its boxes reach beyond slants: base_mesh() does not
      if (std::any_of(standing_.begin(), standing_.end(), [&](const Plate& p) { return p.name == fixed.name; })) continue;
      const auto box = inset(fixed.box, touch_);
      if (!box || !common(body.box, *box)) continue;
      const Vec3 room{1, 1, 1};
      const auto near = common(*box, {body.box.low - room, body.box.high + room});
      if (const auto o = overlap(body.mesh, box_mesh(*near), touch_)) add(body.name, fixed.name, body.part, o->box);
    }
    if (const Mesh base = base_mesh(body.box); !base.triangles.empty())
      if (const auto o = overlap(body.mesh, base, touch_)) add(body.name, "base", body.part, o->box);
    for (const Solid& screw : lying_)
      for (const Solid& fixed : fixed_)
        if (i == 0 && stands_up(fixed))
          if (const auto shared = common(screw.box, fixed.box)) add(screw.name, fixed.name, "", *shared);
  }

  /// What ends a carriage's way, on the rail: for the plates, their bosses and screws. That a carriage meets it is its
  /// use, and the travel's matter.
  void add_stops(const RailStops& stops) {
    const RailSettings& rails = kit_.rails;
    const double foot = -kit_.carriages.size.assembly_height_mm, top = foot + rails.size.height_mm + stop_rise_mm;
    const double half = rails.size.width_mm / 2, end = rails.length_mm / 2;
    for (const double side : {-1.0, 1.0}) {
      const double x = side * rails.pitch_mm / 2;
      const std::string rail = side < 0 ? " stop of the left rail" : " stop of the right rail";
      if (stops.front_mm > 0)
        fixed_.push_back({"the front" + rail, {{x - half, -end, foot}, {x + half, -end + stops.front_mm, top}}});
      if (stops.rear_mm > 0)
        fixed_.push_back({"the rear" + rail, {{x - half, end - stops.rear_mm, foot}, {x + half, end, top}}});
    }
  }

  void add_fixed() {
    const RailSettings& rails = kit_.rails;
    const double foot = -kit_.carriages.size.assembly_height_mm, half = rails.size.width_mm / 2;
    for (const double side : {-1.0, 1.0}) {
      const double x = side * rails.pitch_mm / 2;
      fixed_.push_back(
          {side < 0 ? "left rail" : "right rail",
           {{x - half, -rails.length_mm / 2, foot}, {x + half, rails.length_mm / 2, foot + rails.size.height_mm}}});
    }
    if (rails.stops) add_stops(*rails.stops);
    constexpr double far = 5000;  // as far as anything goes
    // Without its outline the base is taken to lie under everything.
    if (!kit_.base)
      fixed_.push_back(
          {"base under the rails", {{-far, -far, base_face_mm(kit_) - far}, {far, far, base_face_mm(kit_)}}});
    for (const BaseBody& body : base_bodies(kit_, far)) fixed_.push_back({body.name, body.box});
    for (const Json& k : kit_.keep_outs) {
      const Json &low = k.at("min_mm"), &high = k.at("max_mm");
      fixed_.push_back({"keep-out " + k.at("id").get<std::string>(),
                        {{low[0].get<double>(), low[1].get<double>(), low[2].get<double>()},
                         {high[0].get<double>(), high[1].get<double>(), high[2].get<double>()}}});
    }
  }

  /// The sheet over its holes and mounts (its own outline is not in the kit), in patches with their range of heights.
  std::vector<Solid> sheet_patches() const {
    std::vector<Solid> patches;
    Vec2 low{1e9, 1e9}, high{-1e9, -1e9};
    for (const std::vector<FrameHole>* holes : {&kit_.frame.holes, &kit_.frame.mounts})
      for (const FrameHole& h : *holes) {
        low = {std::min(low.x, h.at_mm.x), std::min(low.y, h.at_mm.y)};
        high = {std::max(high.x, h.at_mm.x), std::max(high.y, h.at_mm.y)};
      }
    constexpr int n = 12;
    const Vec2 step{(high.x - low.x) / n, (high.y - low.y) / n};
    if (!(step.x > 0) || !(step.y > 0)) return patches;
    for (int i = 0; i < n; ++i)
      for (int k = 0; k < n; ++k) {
        const Vec2 corner = low + Vec2{i * step.x, k * step.y};
        double least = 1e300, most = -1e300;
        for (const Vec2 d : {Vec2{0, 0}, {1, 0}, {0, 1}, {1, 1}, {0.5, 0.5}}) {
          const auto z = height_if_known(layout_.underside, corner + Vec2{d.x * step.x, d.y * step.y});
          if (!z) continue;
          least = std::min(least, *z);
          most = std::max(most, *z);
        }
        if (least > most) continue;
        patches.push_back({"frame",
                           {{corner.x, corner.y, least},
                            {corner.x + step.x, corner.y + step.y, most + kit_.frame.sheet_thickness_mm}}});
      }
    return patches;
  }

  void add(const std::string& first, const std::string& second, const std::string& part, const Box& shared) {
    Interference i;
    i.first = first;
    i.second = second;
    i.part = part;
    set_depth(i, shared);
    add(i);
  }

  /// One line for two bodies: the deepest.
  void add(const Interference& i) {
    if (i.depth_mm <= edge_slack_mm) return;
    for (Interference& have : found_)
      if (have.first == i.first && have.second == i.second) {
        const double from = std::min(have.from_mm, i.from_mm), to = std::max(have.to_mm, i.to_mm);
        if (i.depth_mm > have.depth_mm) have = i;
        have.from_mm = from;
        have.to_mm = to;
        return;
      }
    found_.push_back(i);
  }

  void meet_box(const Plate& plate, const Solid& other) {
    const auto box = inset(other.box, touch_);
    if (!box || !common(plate.box, *box)) return;
    if (const auto o = overlap(plate.mesh, box_mesh(*box), 0)) add(plate.name, other.name, plate.part, o->box);
  }

  /// As the bed sees a body that stays.
  Box drawn_long(Box box) const {
    box.low.y -= half_travel_;
    box.high.y += half_travel_;
    return box;
  }

  void add_swept(const std::string& first, const Solid& fixed, const std::string& part, const Box& shared) {
    Interference i;
    i.first = first;
    i.second = fixed.name;
    i.part = part;
    set_depth(i, shared);
    i.moving = true;
    i.from_mm = std::max(-half_travel_, fixed.box.low.y - shared.high.y);
    i.to_mm = std::min(half_travel_, fixed.box.high.y - shared.low.y);
    add(i);
  }

  void sweep_mesh(const Plate& plate, const Solid& fixed) {
    const auto box = inset(drawn_long(fixed.box), touch_);
    if (!box || !common(plate.box, *box)) return;
    // Facets of a body of metres would be cut for nothing: what lies beside the plate does not matter.
    const Vec3 room{1, 1, 1};
    const auto near = common(*box, {plate.box.low - room, plate.box.high + room});
    if (const auto o = overlap(plate.mesh, box_mesh(*near), 0)) add_swept(plate.name, fixed, plate.part, o->box);
  }

  void sweep_box(const std::string& name, const Box& moving, const Solid& fixed) {
    const auto box = inset(drawn_long(fixed.box), touch_);
    if (!box) return;
    if (const auto shared = common(moving, *box)) add_swept(name, fixed, "", *shared);
  }

  /// Seats are judged by the seat gap; this finds what else comes through the sheet.
  void meet_sheet(const Plate& plate) {
    double deepest = touch_;
    Vec3 where{};
    for (const Vec3& v : plate.mesh.vertices) {
      const double under = height_at(layout_.underside, {v.x, v.y});
      if (v.z - under > deepest) deepest = v.z - under, where = v;
    }
    if (deepest <= touch_) return;
    Interference i;
    i.first = plate.name;
    i.second = "frame";
    i.part = plate.part;
    i.at = where;
    i.depth_mm = deepest;
    add(i);
  }

  void meet_screw(const Plate& plate, const Screw& screw) {
    for (const Rod* rod : {&screw.shank, &screw.head}) {
      // Contact under the head and beside it is no interference.
      const Rod in{rod->axis, rod->radius - touch_, rod->low + touch_, rod->high - touch_};
      if (!common(plate.box, box_of(in))) continue;
      const Mesh body = cylinder_mesh(in.axis, in.radius, in.low, in.high, screw_sides);
      if (const auto o = overlap(plate.mesh, body, touch_)) add(plate.name, screw.name, plate.part, o->box);
    }
  }

  void meet_rods(const Screw& a, const Screw& b) {
    for (const Rod* p : {&a.shank, &a.head})
      for (const Rod* q : {&b.shank, &b.head}) {
        const double across = p->radius + q->radius - length(p->axis - q->axis);
        const double along = std::min(p->high, q->high) - std::max(p->low, q->low);
        if (across <= touch_ || along <= touch_) continue;
        Interference i;
        i.first = a.name;
        i.second = b.name;
        const Vec2 at = 0.5 * (p->axis + q->axis);
        i.at = {at.x, at.y, std::max(p->low, q->low) + along / 2};
        i.depth_mm = std::min(across, along);
        i.axis = across < along ? 'x' : 'z';
        add(i);
      }
  }

  void screw_and_carriage(const Screw& screw, const Solid& carriage) {
    if (screw.in_carriage && carriage.name == "carriage " + screw.placement) return;
    const auto box = inset(carriage.box, touch_);
    for (const Rod* rod : {&screw.shank, &screw.head}) {
      if (!box) return;
      const Vec2 beyond{std::max({box->low.x - rod->axis.x, rod->axis.x - box->high.x, 0.0}),
                        std::max({box->low.y - rod->axis.y, rod->axis.y - box->high.y, 0.0})};
      if (length(beyond) >= rod->radius) continue;  // past a corner
      if (const auto shared = common(box_of(*rod), *box)) add(screw.name, carriage.name, "", *shared);
    }
  }

  void head_and_sheet(const Screw& screw) {
    if (!screw.in_carriage) return;
    double deepest = touch_;
    Vec3 where{};
    for (int k = 0; k < screw_sides; ++k) {
      const double angle = 2 * pi * k / screw_sides;
      const Vec2 p = screw.head.axis + screw.head.radius * Vec2{cos_rad(angle), sin_rad(angle)};
      const double deep = screw.head.high - height_at(layout_.underside, p);
      if (deep > deepest) deepest = deep, where = {p.x, p.y, screw.head.high};
    }
    if (deepest <= touch_) return;
    Interference i;
    i.first = screw.name;
    i.second = "frame";
    i.at = where;
    i.depth_mm = deepest;
    add(i);
  }

  const Kit& kit_;
  const Layout& layout_;
  double touch_, half_travel_;
  std::vector<Plate> plates_, standing_;
  std::vector<Screw> screws_;
  std::vector<Solid> carriages_, fixed_, lying_;
  std::vector<Interference> found_;
};

std::string remedy_for(const Interference& i) {
  const std::string room = decimal(i.depth_mm, 2) + " mm of room along " + std::string(1, i.axis);
  if (i.second.rfind("the base's", 0) == 0)
    return "make " + room + ": other heights under the rails (lift_mm), or measure the raised area again";
  if (i.second.rfind("keep-out", 0) == 0)
    return "make " + room + ", or shorten travel_mm, or measure the keep-out again";
  if (i.second.find("rail") != std::string::npos)
    return "make " + room + ": bosses on the other side (boss_side), or lower (boss_height_mm)";
  if (i.first.rfind("the screw", 0) == 0 || i.second.rfind("the screw", 0) == 0)
    return "make " + room + ": another hole, screw length or head";
  return "make " + room;
}

}  // namespace

std::vector<Interference> interferences(const Kit& kit, const Layout& layout, const std::vector<KnownPart>& parts,
                                        const std::vector<JointSolution>& joints) {
  return Scene(kit, layout, parts, joints).all();
}

void check_interference(const Known& known, std::vector<Finding>& findings) {
  for (const Interference& i : known.interferences) {
    std::string text = i.first + " stands " + decimal(i.depth_mm, 2) + " mm in " + i.second + " at (" +
                       decimal(i.at.x, 1) + ", " + decimal(i.at.y, 1) + ", " + decimal(i.at.z, 1) + ")";
    if (i.moving) text += " while the bed is from y = " + decimal(i.from_mm, 1) + " to " + decimal(i.to_mm, 1);
    findings.push_back({"interference", Severity::error, i.part, i.second, text, i.depth_mm,
                        known.kit.tolerance.chord_mm, "mm", remedy_for(i), {{i.first}, {i.second}, {"", i.at}}});
  }
}

}  // namespace bedwright
