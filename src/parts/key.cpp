#include "parts/key.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/adapter_plate.h"
#include "parts/features.h"

namespace bedwright {
namespace {

// All common practice, no source.
constexpr double finger_mm = 4;          // wide: nine lines of 0.45; what it meets it meets end on
constexpr double height_mm = 3;          // fifteen layers of 0.2
constexpr double least_height_mm = 1.2;  // six layers
constexpr double rib_mm = 2.4;           // thick
constexpr double rib_length_mm = 6, rib_height_mm = 3;
constexpr double below_sheet_mm = 0.5;
constexpr double clear_mm = 0.5;   // of what must not be touched, play taken off
constexpr double bite_mm = 2;      // into what must be met, play taken off
constexpr double root_mm = 0.6;    // within the outline; bosses stay 1.0 inside it
constexpr double longest_mm = 60;  // beyond the edge
constexpr double farthest_edge_mm = 300;

bool in_front(const std::string& placement) {
  return placement.rfind("front", 0) == 0;
}

bool on_left(const std::string& placement) {
  return placement.find("left") != std::string::npos;
}

const Placement* placement_of(const Layout& layout, const std::string& id) {
  for (const Placement& p : layout.placements)
    if (p.id == id) return &p;
  return nullptr;
}

/// How far a convex outline reaches from `from` along `d` (unit).
double reach(const Loop& outline, Vec2 from, Vec2 d) {
  if (!contains(outline, from)) return 0;
  double low = 0, high = farthest_edge_mm;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (contains(outline, from + middle * d) ? low : high) = middle;
  }
  return low;
}

/// The least reach over a band as wide as a finger.
double reach_of_band(const Loop& outline, double x, double side) {
  const Vec2 d{0, side};
  return std::min({reach(outline, {x - finger_mm / 2, 0}, d), reach(outline, {x, 0}, d),
                   reach(outline, {x + finger_mm / 2, 0}, d)});
}

double reach_of_band_at_most(const Loop& outline, double x, double side) {
  const Vec2 d{0, side};
  return std::max({reach(outline, {x - finger_mm / 2, 0}, d), reach(outline, {x, 0}, d),
                   reach(outline, {x + finger_mm / 2, 0}, d)});
}

const Loop& edge_of(const Part& plate) {
  return plate.features.front().profile.front();
}

/// Fingers on the inner edges, in steps of one finger and its play: which a plate has, as it lies at its place. Every
/// pair that belongs on one rail passes; any other plate that faces inward there meets its neighbour.
struct Comb {
  const char* words;
  std::map<std::string, std::vector<int>> fingers;
};

const std::vector<Comb>& combs() {
  static const std::vector<Comb> list = {
      // Two shapes, each at two places that face each other across the middle.
      {"fingers between the plates of a rail",
       {{"front-left", {0}}, {"rear-right", {0}}, {"front-right", {-1, 1}}, {"rear-left", {-1, 1}}}},
      // Four shapes; found by trying all sets of up to three fingers, the fewest in all.
      {"a comb between the plates of a rail",
       {{"front-left", {-2, 0}}, {"rear-left", {-1, 1}}, {"front-right", {-1, 0}}, {"rear-right", {-2, 1, 2}}}},
  };
  return list;
}

class Planner {
 public:
  Planner(const Kit& kit, const Layout& layout, const std::vector<Part>& plates, const std::vector<Part>& others)
      : kit_(kit), layout_(layout), plates_(plates), others_(others) {
    for (const Part& plate : plates_) {
      const PlateSettings s = plate_settings(kit_, plate);
      const ThreadSize* thread = find_thread(s.carriage_screw);
      const double in_hole = thread ? (s.carriage_hole_mm - thread->diameter_mm) / 2 : 0;
      play_ = std::max(play_, std::max(in_hole, 0.0) + s.slot_mm / 2);
      if (has_flat_top(s)) flat_top_ = std::min(flat_top_, flat_top_mm(s));
    }
  }

  std::vector<KeyPlan> all() const {
    const CarriageSize& carriage = kit_.carriages.size;
    const double deepest = carriage.assembly_height_mm - 1.5;
    std::vector<KeyPlan> plans;
    for (int outer = 0; outer < 4; ++outer)
      for (int comb = 0; comb <= int(combs().size()); ++comb)
        for (int rib = 0; rib < 2; ++rib) {
          KeyPlan plan;
          bool possible = outer + comb + rib > 0;
          if (outer == 1) possible = possible && add_outer(0, 0, plan);
          if (outer > 1) possible = possible && add_outer(beside_rail(), outer == 2 ? deepest / 2 : deepest, plan);
          if (comb > 0) possible = possible && add_comb(combs()[std::size_t(comb - 1)], plan);
          if (rib) possible = possible && add_rib(plan);
          if (possible) plans.push_back(std::move(plan));
        }
    std::stable_sort(plans.begin(), plans.end(), [](const KeyPlan& a, const KeyPlan& b) {
      return rounded_length(a.added_mm3) < rounded_length(b.added_mm3);
    });
    return plans;
  }

 private:
  double beside_rail() const { return kit_.rails.size.width_mm / 2 + clear_mm + play_ + finger_mm / 2; }

  const Part* plate_at(const std::string& placement) const {
    for (const std::vector<Part>* list : {&plates_, &others_})
      for (const Part& p : *list)
        if (p.placements.front() == placement) return &p;
    return nullptr;
  }

  /// The plate next on the same rail, and how far its carriage is.
  const Part* next_on_rail(const std::string& placement, double& apart) const {
    const Placement* here = placement_of(layout_, placement);
    for (const Placement& p : layout_.placements) {
      if (p.id == placement || on_left(p.id) != on_left(placement)) continue;
      apart = std::fabs(p.at.y - here->at.y);
      return plate_at(p.id);
    }
    return nullptr;
  }

  double top_over(const Part& plate, const PlaneBox& box) const {
    const Loop loop = rectangle_loop(0.5 * (box.low + box.high), box.high - box.low, 0);
    const double sheet = heights_over(plate.seat, {loop}).least;
    return std::min({height_mm, sheet - below_sheet_mm, flat_top_});
  }

  /// A finger from the plate's front (side -1) or rear edge to `end` from the carriage's centre.
  bool add_finger(const Part& plate, double x, double side, double end, KeyPlan& plan) const {
    const double edge = reach_of_band(edge_of(plate), x, side);
    if (edge <= 0 || end - edge < 1 || end - edge > longest_mm) return false;
    const double a = side * (edge - root_mm), b = side * end;
    KeyBlock block{{{x - finger_mm / 2, std::min(a, b)}, {x + finger_mm / 2, std::max(a, b)}}, 0, 0, {0, side}};
    block.to_mm = top_over(plate, block.box);
    if (block.to_mm < least_height_mm) return false;
    plan.added_mm3 += (end - edge) * finger_mm * block.to_mm;
    plan.blocks[plate.placements.front()].push_back(block);
    return true;
  }

  static void say(const std::string& words, KeyPlan& plan) { plan.words += (plan.words.empty() ? "" : ", ") + words; }

  /// A tab that points away from the next plate on the rail, so long that it runs into it when the plate is turned.
  bool add_outer(double off_middle, double hanging_mm, KeyPlan& plan) const {
    double end = 0;
    for (const Part& plate : plates_) {
      double apart = 0;
      const Part* next = next_on_rail(plate.placements.front(), apart);
      if (!next) return false;
      const double side = in_front(plate.placements.front()) ? -1 : 1;
      for (double x : {off_middle, -off_middle})
        end = std::max(end, apart - reach_of_band(edge_of(*next), x, side) + bite_mm + play_);
    }
    for (const Part& plate : plates_) {
      const std::string& id = plate.placements.front();
      const double side = in_front(id) ? -1 : 1, x = on_left(id) ? -off_middle : off_middle;
      if (!add_finger(plate, x, side, end, plan)) return false;
      if (hanging_mm <= 0) continue;
      // Beyond the carriage's end, beside the rail, and short of the base.
      KeyBlock foot = plan.blocks[id].back();
      const double from = std::max(reach_of_band_at_most(edge_of(plate), x, side),
                                   kit_.carriages.size.length_mm / 2 + clear_mm + play_) +
                          1;
      if (from + finger_mm > end) return false;
      foot.box.low.y = std::min(side * from, side * (from + finger_mm));
      foot.box.high.y = std::max(side * from, side * (from + finger_mm));
      foot.from_mm = -hanging_mm;
      plan.added_mm3 += finger_mm * finger_mm * hanging_mm;
      plan.blocks[id].push_back(foot);
    }
    say(hanging_mm > 0 ? "a tab with a foot of " + decimal(hanging_mm, 2) + " mm at the outer edge"
                       : std::string("a tab at the outer edge"),
        plan);
    return true;
  }

  bool add_comb(const Comb& comb, KeyPlan& plan) const {
    const double step = finger_mm + 2 * play_ + clear_mm;
    for (const Part& plate : plates_) {
      const std::string& id = plate.placements.front();
      double apart = 0;
      const Part* next = next_on_rail(id, apart);
      // A plate of another request next to it has no fingers to pass.
      if (!next || next->settings.value("id", std::string()) != plate.settings.value("id", std::string())) return false;
      const double side = in_front(id) ? 1 : -1;
      const double end = apart / 2 + (bite_mm + play_) / 2;
      for (int finger : comb.fingers.at(id)) {
        const double x = finger * step;
        if (end > apart - reach_of_band_at_most(edge_of(*next), x, -side) - clear_mm - 2 * play_) return false;
        if (!add_finger(plate, x, side, end, plan)) return false;
      }
    }
    say(comb.words, plan);
    return true;
  }

  /// Beside the outer flank: turned by a quarter it stands over the longer carriage.
  bool add_rib(KeyPlan& plan) const {
    const CarriageSize& carriage = kit_.carriages.size;
    const double from = carriage.width_mm / 2 + clear_mm + play_, to = from + rib_mm;
    for (const Part& plate : plates_) {
      const std::string& id = plate.placements.front();
      const double side = on_left(id) ? -1 : 1;
      const double edge =
          std::min({reach(edge_of(plate), {0, -rib_length_mm / 2}, {side, 0}), reach(edge_of(plate), {0, 0}, {side, 0}),
                    reach(edge_of(plate), {0, rib_length_mm / 2}, {side, 0})});
      const auto block = [&](double a, double b, double low, double high) {
        return KeyBlock{
            {{std::min(side * a, side * b), -rib_length_mm / 2}, {std::max(side * a, side * b), rib_length_mm / 2}},
            low,
            high,
            {side, 0}};
      };
      KeyBlock rib = block(from, to, -rib_height_mm, 0);
      if (to > edge - root_mm) {
        KeyBlock root = block(edge - root_mm, std::max(to, edge), 0, 0);
        root.to_mm = top_over(plate, root.box);
        if (root.to_mm < least_height_mm) return false;
        plan.added_mm3 += std::max(to - edge, 0.0) * rib_length_mm * root.to_mm;
        plan.blocks[id].push_back(root);
      }
      plan.added_mm3 += rib_mm * rib_length_mm * rib_height_mm;
      plan.blocks[id].push_back(rib);
    }
    say("a rib beside the carriage", plan);
    return true;
  }

  const Kit& kit_;
  const Layout& layout_;
  const std::vector<Part>& plates_;
  const std::vector<Part>& others_;
  double play_ = 0, flat_top_ = 1e9;
};

PlaneBox grown(const PlaneBox& box, double by) {
  return {box.low - Vec2{by, by}, box.high + Vec2{by, by}};
}

Loop loop_of(const PlaneBox& box) {
  return rectangle_loop(0.5 * (box.low + box.high), box.high - box.low, 0);
}

/// The outline's extents are those of the whole part.
void widen(Feature& outline, const PlaneBox& drawn, const PlaneBox& made) {
  const PlaneBox own = bounding_box(outline.profile.front());
  const auto set = [&](const char* quantity, double own_low, double own_high, double drawn_low, double drawn_high,
                       double made_low, double made_high) {
    for (Dimension& d : outline.dimensions) {
      if (d.quantity != quantity) continue;
      const double added = d.modelled_mm - d.nominal_mm;
      d.nominal_mm = std::max(own_high - added / 2, drawn_high) - std::min(own_low + added / 2, drawn_low);
      d.modelled_mm = std::max(own_high, made_high) - std::min(own_low, made_low);
    }
  };
  set("length", own.low.x, own.high.x, drawn.low.x, drawn.high.x, made.low.x, made.high.x);
  set("width", own.low.y, own.high.y, drawn.low.y, drawn.high.y, made.low.y, made.high.y);
}

}  // namespace

std::vector<KeyPlan> key_plans(const Kit& kit, const Layout& layout, const std::vector<Part>& plates,
                               const std::vector<Part>& others) {
  if (plates.empty()) return {};
  return Planner(kit, layout, plates, others).all();
}

void add_key(const Kit& kit, const KeyPlan& plan, Part& part) {
  const auto found = plan.blocks.find(part.placements.front());
  if (found == plan.blocks.end() || found->second.empty()) return;
  Feature& outline = part.features.front();
  const double added = kit.printer.compensation.outline_mm;
  std::vector<Feature> keys;
  PlaneBox drawn = found->second.front().box;
  bool crosses = false;
  for (const KeyBlock& block : found->second) {
    Feature f;
    f.id = "key-" + std::to_string(keys.size() + 1);
    f.kind = FeatureKind::key;
    f.effect = Effect::add;
    const PlaneBox box = grown(block.box, added / 2);
    f.profile = {loop_of(box)};
    f.from = Bound::at(block.from_mm);
    f.to = Bound::at(block.to_mm);
    f.axis = {block.outward.x, block.outward.y, 0};
    const Vec2 middle = 0.5 * (box.low + box.high), half = 0.5 * (box.high - box.low);
    f.at = {middle.x + block.outward.x * half.x, middle.y + block.outward.y * half.y, block.to_mm};
    const bool along_x = block.outward.x != 0;
    const double across = along_x ? block.box.high.y - block.box.low.y : block.box.high.x - block.box.low.x;
    const Vec2 tip = block.outward.x + block.outward.y > 0 ? block.box.high : block.box.low;
    const double end = std::fabs(along_x ? tip.x : tip.y);
    f.dimensions = {dimension("across", across, across + added, height_tolerance_mm),
                    dimension("reach", end, end + added / 2, height_tolerance_mm)};
    if (block.from_mm < 0)
      f.dimensions.push_back(dimension("height", -block.from_mm, height_tolerance_mm));
    else
      f.dimensions.push_back(dimension("top", block.to_mm, height_tolerance_mm));
    drawn = {{std::min(drawn.low.x, block.box.low.x), std::min(drawn.low.y, block.box.low.y)},
             {std::max(drawn.high.x, block.box.high.x), std::max(drawn.high.y, block.box.high.y)}};
    const double bevel = outline.chamfer_mm;
    for (Vec2 corner : {box.low, Vec2{box.high.x, box.low.y}, box.high, Vec2{box.low.x, box.high.y}})
      crosses |=
          !contains(outline.profile.front(), corner) || distance(outline.profile.front(), corner) < bevel + clear_mm;
    keys.push_back(std::move(f));
  }
  widen(outline, drawn, grown(drawn, added / 2));
  if (crosses && outline.chamfer_mm > 0) {
    outline.chamfer_mm = 0;
    part.statements.push_back("no bottom chamfer: the key crosses the edge; break the edge with a file");
  }
  part.features.insert(part.features.begin() + 2, keys.begin(), keys.end());
}

}  // namespace bedwright
