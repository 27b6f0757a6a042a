#include "ways_referee.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>

#include "joints/joints.h"
#include "kit/hardware.h"
#include "parts/part_joints.h"

namespace bedwright {
namespace {

constexpr double step = 1.2;           // between columns; edges are found by bisection
constexpr double undecided_mm = 0.08;  // resolution of the search over shifts and turns
constexpr double collision_mm = 0.02;

struct Column {
  bool any = false;
  double low = 0, high = 0;
  bool high_is_skin = false, low_is_skin = false;  // not a floor that a cut left
};

double at(const Part& part, const Bound& b, Vec2 p, double open) {
  return b.kind == Bound::Kind::flat ? b.z_mm : b.kind == Bound::Kind::seat ? height_at(part.seat, p) : open;
}

/// Material at p: features in their order, as intervals. Marks stay filled.
Column column_at(const Part& part, Vec2 p, bool with_bosses) {
  std::vector<std::pair<double, double>> pieces;
  double skin_high = -1e9, skin_low = 1e9;
  for (const Feature& f : part.features) {
    if (f.effect == Effect::none || f.kind == FeatureKind::mark) continue;
    if ((f.kind == FeatureKind::boss || f.kind == FeatureKind::key) && !with_bosses) continue;
    bool in = false;
    for (const Loop& loop : f.profile) in ^= contains(loop, p);
    if (!in) continue;
    double from = at(part, f.from, p, -1e9);
    const double to = at(part, f.to, p, 1e9);
    if (f.effect == Effect::add) {
      if (f.chamfer_mm > 0) {
        const double rim = distance(f.profile[0], p);
        if (rim < f.chamfer_mm) from += f.chamfer_mm - rim + 1e-9;
      }
      pieces.push_back({from, to});
      skin_high = std::max(skin_high, to);
      if (f.chamfer_mm <= 0 || distance(f.profile[0], p) >= f.chamfer_mm) skin_low = std::min(skin_low, from);
      continue;
    }
    std::vector<std::pair<double, double>> left;
    for (const auto& [a, b] : pieces) {
      if (from > a) left.push_back({a, std::min(b, from)});
      if (to < b) left.push_back({std::max(a, to), b});
    }
    pieces.clear();
    for (const auto& piece : left)
      if (piece.second > piece.first) pieces.push_back(piece);
  }
  Column c;
  for (const auto& [a, b] : pieces) {
    c.low = c.any ? std::min(c.low, a) : a;
    c.high = c.any ? std::max(c.high, b) : b;
    c.any = true;
  }
  c.high_is_skin = c.any && c.high == skin_high;
  c.low_is_skin = c.any && c.low == skin_low;
  return c;
}

bool in_seat(const Part& part, Vec2 p) {
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::seat)
      for (const Loop& loop : f.profile)
        if (contains(loop, p)) return true;
  return false;
}

struct Sample {
  Vec2 p;
  Column c;
  bool seat;
};

/// What is said of a column: is there any, is its top skin of the seat, is its underside skin, is it a boss below or
/// above. Each is followed to its own edge, because a chamfer's edge and the outline's may lie between the same two
/// columns.
constexpr int looks = 5;
std::array<int, looks> looked_at(const Part& part, Vec2 p) {
  const Column c = column_at(part, p, true), bare = column_at(part, p, false);
  const int seat = in_seat(part, p);
  return {c.any, 2 * c.high_is_skin + seat, 2 * c.low_is_skin + seat, c.low != bare.low, c.high != bare.high};
}

std::vector<Sample> samples_of(const Part& part) {
  std::vector<Sample> samples;
  PlaneBox box = bounding_box(part.features[0].profile[0]);
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::key) {
      const PlaneBox b = bounding_box(f.profile[0]);
      box = {{std::min(box.low.x, b.low.x), std::min(box.low.y, b.low.y)},
             {std::max(box.high.x, b.high.x), std::max(box.high.y, b.high.y)}};
    }
  const auto take = [&](Vec2 p) {
    const Column c = column_at(part, p, true);
    if (c.any) samples.push_back({p, c, in_seat(part, p)});
  };
  for (const Vec2 along : {Vec2{1, 0}, Vec2{0, 1}}) {
    const Vec2 across{along.y, along.x};
    const double a0 = dot(box.low, along) - 1, a1 = dot(box.high, along) + 1;
    for (double b = dot(box.low, across) + 0.013; b < dot(box.high, across); b += step) {
      Vec2 before = a0 * along + b * across;
      auto key_before = looked_at(part, before);
      for (double a = a0 + step; a < a1 + step; a += step) {
        const Vec2 here = a * along + b * across;
        const auto key_here = looked_at(part, here);
        for (int look = 0; look < looks; ++look) {
          if (key_here[look] == key_before[look]) continue;
          Vec2 low = before, high = here;
          for (int i = 0; i < 20; ++i) {
            const Vec2 middle = 0.5 * (low + high);
            (looked_at(part, middle)[look] == key_before[look] ? low : high) = middle;
          }
          take(low);
          take(high);
        }
        take(here);
        before = here;
        key_before = key_here;
      }
    }
  }
  return samples;
}

/// The whole motion written out: over (x -> -x, z -> -z), then quarter turns (x, y) -> (-y, x), then the lift.
struct Motion {
  bool over = false;
  int quarters = 0;
  double lift = 0;
  Vec2 xy(Vec2 p) const {
    if (over) p.x = -p.x;
    for (int i = 0; i < ((quarters % 4) + 4) % 4; ++i) p = {-p.y, p.x};
    return p;
  }
  Vec2 back(Vec2 p) const {
    for (int i = 0; i < ((quarters % 4) + 4) % 4; ++i) p = {p.y, -p.x};
    if (over) p.x = -p.x;
    return p;
  }
  double z(double z) const { return over ? lift - z : lift + z; }
};

double sheet_mm(const Kit& kit, Vec2 machine) {
  const Dome& dome = kit.frame.dome;
  const double sign = dome.crown_up ? 1 : -1;
  const double R = dome.radius_mm - (dome.measured_on_upper ? sign * kit.frame.sheet_thickness_mm : 0);
  Vec2 d = machine - dome.apex_mm;
  if (dome.shape == "flat") return 0;
  if (dome.shape == "cylinder") d = dome.axis == "y" ? Vec2{d.x, 0} : Vec2{0, d.y};
  return -sign * (R - std::sqrt(R * R - dot(d, d)));
}

struct Where {
  const Kit& kit;
  const Layout& layout;
  const Placement& placement;
  const Part& right;
  int right_quarter;
};

double screw_mm(const std::string& id) {
  return find_thread(id)->diameter_mm;
}

/// The largest clearance that some small shift and turn leaves round every screw; negative: some screw cannot pass.
double best_clearance(const Where& w, const Part& part, const Motion& motion) {
  const CarriageSize& car = w.kit.carriages.size;
  struct Screw {
    Vec2 at;
    double diameter;
  };
  std::vector<Screw> threads;
  for (double x : {-1.0, 1.0})
    for (double y : {-1.0, 1.0})
      threads.push_back({{x * car.hole_across_mm / 2, y * car.hole_along_mm / 2}, screw_mm(car.thread)});
  const double frame_screw = screw_mm(part.settings.value("frame_screw", std::string("M4")));
  std::vector<const Feature*> holes, pockets;
  for (const Feature& f : part.features) {
    if (f.kind == FeatureKind::insert_pocket) pockets.push_back(&f);
    if (f.id.rfind("carriage-hole-", 0) == 0) holes.push_back(&f);
  }
  const auto clearance = [&](Vec2 shift, double turn) {
    double least = 1e9;
    for (const Screw& s : threads) {
      // The screw, seen from the part that was shifted and turned by a little.
      const Vec2 d = s.at - shift;
      const Vec2 p = motion.back({d.x + turn * d.y, d.y - turn * d.x});
      double best = -1e9;
      for (const Feature* f : holes) {
        const double wall = distance(f->profile[0], p);
        best = std::max(best, (contains(f->profile[0], p) ? wall : -wall) - s.diameter / 2);
      }
      least = std::min(least, best);
    }
    for (const FrameHole& hole : w.placement.holes) {
      double best = -1e9;
      for (const Feature* f : pockets) {
        const Vec2 q = motion.xy({f->at.x, f->at.y});
        const Vec2 moved = q + shift + turn * Vec2{-q.y, q.x};
        best = std::max(best, (hole.diameter_mm - frame_screw) / 2 - length(moved - (hole.at_mm - w.placement.at)));
      }
      least = std::min(least, best);
    }
    return least;
  };
  double best = clearance({}, 0);
  if (best > 0 || best < -4) return best;
  for (int t = -8; t <= 8; ++t)
    for (int i = -12; i <= 12; ++i)
      for (int j = -12; j <= 12; ++j) best = std::max(best, clearance({i * 0.08, j * 0.08}, t * 0.003));
  return best;
}

bool in_rectangle(Vec2 p, Vec2 centre, double width, double length_mm) {
  return std::fabs(p.x - centre.x) < width / 2 && std::fabs(p.y - centre.y) < length_mm / 2;
}

bool collides(const Where& w, const Motion& motion, const std::vector<Sample>& samples, const std::vector<Loop>& others,
              const std::vector<Sample>& right_samples) {
  const CarriageSize& car = w.kit.carriages.size;
  const RailSize& rail = w.kit.rails.size;
  for (const Sample& s : samples) {
    const double low = std::min(motion.z(s.c.low), motion.z(s.c.high));
    if (low > -collision_mm) continue;
    const Vec2 p = motion.xy(s.p);
    if (low < -car.assembly_height_mm - collision_mm) return true;
    for (const Placement& other : w.layout.placements) {
      const Vec2 centre = other.at - w.placement.at;
      if (in_rectangle(p, centre, car.width_mm - collision_mm, car.length_mm - collision_mm)) return true;
      if (std::fabs(p.x - centre.x) < rail.width_mm / 2 - collision_mm &&
          low < rail.height_mm - car.assembly_height_mm - collision_mm)
        return true;
    }
  }
  const Motion right{false, w.right_quarter, 0};
  for (const Loop& other : others) {
    const auto meets = [&](const Motion& m, const std::vector<Sample>& list) {
      return std::any_of(list.begin(), list.end(), [&](const Sample& s) {
        return contains(other, m.xy(s.p)) && distance(other, m.xy(s.p)) > collision_mm;
      });
    };
    if (meets(motion, samples) && !meets(right, right_samples)) return true;
  }
  return false;
}

/// Where a head bears: the material just outside its hole.
double bearing(const Part& part, const Motion& motion, const Feature& hole) {
  double z = -1e9;
  const PlaneBox box = bounding_box(hole.profile[0]);
  for (const Vec2 rim : {Vec2{box.high.x + 0.2, hole.at.y}, Vec2{box.low.x - 0.2, hole.at.y}}) {
    const Column c = column_at(part, rim, true);
    z = std::max(z, motion.z(motion.over ? c.low : c.high));
  }
  return z;
}

struct Touch {
  double drop, gap;
};

Touch touch(const Where& w, const Part& part, const Motion& motion, const std::vector<Sample>& samples) {
  const auto sheet = [&](Vec2 p) { return sheet_mm(w.kit, p + w.placement.at); };
  double drop = -1e9;
  for (const Sample& s : samples)
    drop = std::max(drop, motion.z(motion.over ? s.c.low : s.c.high) - sheet(motion.xy(s.p)));
  const CapScrew& head = *find_cap_screw(w.right.settings.value("carriage_screw", w.kit.carriages.size.thread));
  for (const Feature& f : part.features) {
    if (f.id.rfind("carriage-hole-", 0) != 0) continue;
    const double top = bearing(part, motion, f) + head.head_height_mm;
    const Vec2 centre = motion.xy({f.at.x, f.at.y});
    const double r = head.head_diameter_mm / 2;
    for (double x = -r; x <= r; x += r / 20)
      for (double y = -r; y <= r; y += r / 20)
        if (x * x + y * y <= r * r) drop = std::max(drop, top - sheet(centre + Vec2{x, y}));
  }
  double gap = 0;
  for (const Sample& s : samples)
    if (s.seat && (motion.over ? s.c.low_is_skin : s.c.high_is_skin))
      gap = std::max(gap, sheet(motion.xy(s.p)) + drop - motion.z(motion.over ? s.c.low : s.c.high));
  return {drop, gap};
}

/// How far the shortest screw goes into its thread or insert, with the right part's screws.
double least_engagement(const Where& w, const Part& part, const Motion& motion, double drop) {
  double least = 1e9;
  std::optional<double> carriage;
  std::map<std::string, double> picks;  // by the frame hole's name, which the plate's hole carries
  for (const Joint& j : joints_of_part(w.kit, w.right)) {
    const auto pick = solve_window(j).pick_mm;
    if (j.anchor.kind == "carriage")
      carriage = pick;
    else if (pick)
      picks[j.id] = *pick;
  }
  for (const Feature& f : part.features)
    if (carriage && f.id.rfind("carriage-hole-", 0) == 0) least = std::min(least, *carriage - bearing(part, motion, f));
  const InsertSize& insert = *find_insert(part.settings.value("insert", std::string("m4-standard")));
  const Motion home{false, w.right_quarter, 0};
  for (const FrameHole& hole : w.placement.holes) {
    const Vec2 p = hole.at_mm - w.placement.at;
    std::optional<double> frame;
    for (const Feature& f : w.right.features)
      if (length(home.xy({f.at.x, f.at.y}) - p) < 1e-3 && picks.count(w.right.id + "-" + f.id))
        frame = picks.at(w.right.id + "-" + f.id);
    const Feature* pocket = nullptr;
    for (const Feature& f : part.features)
      if (f.kind == FeatureKind::insert_pocket &&
          (!pocket || length(motion.xy({f.at.x, f.at.y}) - p) < length(motion.xy({pocket->at.x, pocket->at.y}) - p)))
        pocket = &f;
    const double near = motion.z(pocket->at.z + (motion.over ? 0 : insert.length_mm));
    const double above = sheet_mm(w.kit, p + w.placement.at) + drop + w.kit.frame.sheet_thickness_mm;
    if (frame) least = std::min(least, *frame - (above - near));
  }
  return least;
}

/// The same columns everywhere, within 0.001 mm.
bool same_solid(const Where& w, const Motion& motion, const Part& part, const std::vector<Sample>& samples) {
  const Motion right{false, w.right_quarter, 0};
  const double thickness = w.right.seat.height;
  if (part.features.size() != w.right.features.size()) return false;
  for (const Sample& s : samples) {
    const double zl = motion.over ? thickness - s.c.high : s.c.low, zh = motion.over ? thickness - s.c.low : s.c.high;
    // Rims move by a lattice step or two; only what stays clear of them is compared.
    bool clear = true;
    for (const Feature& f : part.features)
      for (const Loop& loop : f.profile) clear = clear && distance(loop, s.p) > 0.003;
    if (!clear) continue;
    const Column c = column_at(w.right, right.back(motion.xy(s.p)), true);
    if (!c.any || std::fabs(c.low - zl) > 1.5e-3 || std::fabs(c.high - zh) > 1.5e-3) return false;
  }
  return true;
}

}  // namespace

std::vector<RefereeWay> referee_ways(const Kit& kit, const Layout& layout, const std::vector<Part>& parts) {
  std::map<const Part*, std::vector<Sample>> samples;
  for (const Part& part : parts)
    if (!part.placements.empty()) samples[&part] = samples_of(part);
  std::vector<RefereeWay> ways;
  for (const Placement& placement : layout.placements)
    for (const Part& right : parts)
      for (std::size_t i = 0; i < right.placements.size(); ++i) {
        if (right.placements[i] != placement.id) continue;
        const Where w{kit, layout, placement, right, right.quarter_turns[i]};
        std::vector<Loop> others;
        for (const Part& part : parts)
          for (std::size_t k = 0; k < part.placements.size(); ++k)
            for (const Placement& other : layout.placements)
              if (other.id == part.placements[k] && other.id != placement.id)
                for (const Feature& f : part.features)
                  if (f.kind == FeatureKind::outline || f.kind == FeatureKind::key)
                    others.push_back(transformed(
                        f.profile[0], compose(shift({other.at.x - placement.at.x, other.at.y - placement.at.y, 0}),
                                              quarter_turn(2, part.quarter_turns[k]))));
        const Motion home{false, w.right_quarter, 0};
        const Touch right_touch = touch(w, right, home, samples.at(&right));
        for (const Part& part : parts) {
          if (part.placements.empty()) continue;
          for (bool over : {false, true})
            for (int turn = 0; turn < 4; ++turn) {
              if (&part == &right && !over && turn == 0) continue;
              RefereeWay way;
              way.part = right.id;
              way.placement = placement.id;
              way.as = &part == &right ? "" : part.id;
              way.turn = turn;
              way.flipped = over;
              // Own: over after lying the right way, then turned. A mirror reverses the turn it comes after.
              Motion motion{over, turn, 0};
              if (&part == &right) motion.quarters = over ? turn - w.right_quarter : turn + w.right_quarter;
              const std::vector<Sample>& own = samples.at(&part);
              way.same = same_solid(w, motion, part, own);
              const double clearance = best_clearance(w, part, motion);
              way.undecided = std::fabs(clearance) < undecided_mm && clearance < 0;
              way.bolts_up = clearance >= 0;
              if (!way.bolts_up || way.same) {
                ways.push_back(way);
                continue;
              }
              if (over) {
                for (const Sample& s : own) {
                  const CarriageSize& car = kit.carriages.size;
                  const Column body = column_at(part, s.p, false);
                  if (body.any && body.high_is_skin && in_rectangle(motion.xy(s.p), {}, car.width_mm, car.length_mm))
                    motion.lift = std::max(motion.lift, body.high);
                }
              }
              const Touch t = touch(w, part, motion, own);
              const double engagement = least_engagement(w, part, motion, t.drop);
              way.undecided = way.undecided || std::fabs(engagement) < 0.03;
              way.bolts_up = !collides(w, motion, own, others, samples.at(&right)) && engagement > 0;
              way.gap_mm = way.bolts_up ? t.gap : 0;
              way.height_change_mm = way.bolts_up ? t.drop - right_touch.drop : 0;
              ways.push_back(way);
            }
        }
      }
  return ways;
}

double referee_wedge_gap(const Part& part, bool over, int turn) {
  const Motion motion{over, turn, 0};
  double most = -1e9, least = 1e9;
  for (const Sample& s : samples_of(part)) {
    const Vec2 p = motion.xy(s.p);
    // What belongs at p is the wedge's own thickness there; its upper face goes on beyond its edge.
    const double off = (s.c.high - s.c.low) - height_at(part.seat, p);
    most = std::max(most, off);
    least = std::min(least, off);
  }
  return most - least;
}

}  // namespace bedwright
