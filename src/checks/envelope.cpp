#include "checks/envelope.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "base/error.h"
#include "base/numbers.h"
#include "checks/offered.h"
#include "checks/seat_gap.h"
#include "checks/wrong_ways.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/adapter_plate.h"

namespace bedwright {
namespace {

constexpr double sample_step_mm = 4;
constexpr double inside_mm = 1e-6;
constexpr double found_mm = 1e-5;  // how closely a limit is searched
// Beyond these no one would call it the same machine.
constexpr double most_pitch_mm = 20, most_sheet_mm = 6, most_height_mm = 10, most_step_mm = 2, most_bend = 4;

double side_of(double at, double centre) {
  return at > centre + found_mm ? 1 : at < centre - found_mm ? -1 : 0;
}

Vec2 centre_of(const std::vector<FrameHole>& holes) {
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  for (const FrameHole& h : holes) {
    low = {std::min(low.x, h.at_mm.x), std::min(low.y, h.at_mm.y)};
    high = {std::max(high.x, h.at_mm.x), std::max(high.y, h.at_mm.y)};
  }
  return 0.5 * (low + high);
}

double extent(const std::vector<FrameHole>& holes, bool along_x) {
  double low = 1e300, high = -1e300;
  for (const FrameHole& h : holes) {
    const double v = along_x ? h.at_mm.x : h.at_mm.y;
    low = std::min(low, v);
    high = std::max(high, v);
  }
  return holes.empty() ? 0 : high - low;
}

double thread_mm(const std::string& id) {
  const ThreadSize* thread = find_thread(id);
  return thread ? thread->diameter_mm : 0;
}

/// Where the holes of a placement, and with them its plate, go on the other machine.
Vec2 moved_by(const Kit& kit, const Placement& placement, const OtherMachine& m) {
  const Vec2 centre = centre_of(kit.frame.holes);
  return {side_of(placement.at.x, centre.x) * m.pitch_x_mm / 2, side_of(placement.at.y, centre.y) * m.pitch_y_mm / 2};
}

FrameSettings frame_of(const Kit& kit, const OtherMachine& m) {
  FrameSettings frame = kit.frame;
  frame.sheet_thickness_mm += m.sheet_mm;
  Dome& dome = frame.dome;
  if (m.curvature_share == 1 || dome.shape == "flat") return frame;
  if (m.curvature_share <= 0) {
    dome.shape = "flat";
    return frame;
  }
  for (double* radius : {&dome.radius_mm, &dome.radius_x_mm, &dome.radius_y_mm}) *radius /= m.curvature_share;
  return frame;
}

bool holds(const Joint& joint, double length_mm) {
  const JointSolution s = solve_window(joint);
  constexpr double same_mm = 1e-6;
  return length_mm >= s.window_least_mm - same_mm &&
         (!s.window_greatest_mm || length_mm <= *s.window_greatest_mm + same_mm);
}

/// The last t in (0, most] up to which `good` holds, if it fails before; nothing if it never fails.
std::optional<double> last_good(double most, const std::function<bool(double)>& good) {
  if (good(most)) return std::nullopt;
  double low = 0, high = most;
  while (high - low > found_mm * std::max(1.0, most)) {
    const double t = (low + high) / 2;
    (good(t) ? low : high) = t;
  }
  return low;
}

std::string mm(double v) {
  return decimal(v, 2) + " mm";
}

}  // namespace

Envelope::Envelope(const Kit& kit, const Layout& layout, const std::vector<Part>& parts,
                   const std::vector<JointSolution>& joints)
    : kit_(kit), layout_(layout), joints_(joints) {
  for (const Placement& placement : layout.placements)
    for (const Part& part : parts)
      for (std::size_t i = 0; i < part.placements.size(); ++i) {
        if (part.family != "adapter_plate" || part.placements[i] != placement.id) continue;
        const int quarter = i < part.quarter_turns.size() ? part.quarter_turns[i] : 0;
        Place place{&part, &placement, quarter, {}, {}, {}};
        const Transform to_machine = compose(shift({placement.at.x, placement.at.y, 0}), quarter_turn(2, quarter));
        const BearingArea bearing(part);
        const auto take = [&](Vec2 p) {
          if (bearing.has(p)) place.seat.push_back(apply(to_machine, {p.x, p.y, height_at(part.seat, p)}));
        };
        for (const Feature& f : part.features) {
          if (f.kind != FeatureKind::seat) continue;
          for (const Loop& loop : f.profile) {
            for (const EdgePoint& e : edge_points(loop, sample_step_mm)) take(e.at - inside_mm * e.outward);
            const PlaneBox box = bounding_box(loop);
            for (double y = box.low.y; y < box.high.y; y += sample_step_mm)
              for (double x = box.low.x; x < box.high.x; x += sample_step_mm) take({x, y});
          }
        }
        find_holes(place);
        places_.push_back(std::move(place));
      }
}

double Envelope::gap(const OtherMachine& m) const {
  // Measured points are fitted once: height does not count here, and a thicker sheet's underside lies that much lower
  // along the normal. Off by slope^2 times curvature times the thickness' square, below 1e-5 mm.
  const Dome& dome = kit_.frame.dome;
  const bool fitted = dome.shape == "measured" && m.curvature_share > 0;
  const Surface under = fitted ? layout_.underside : make_underside(frame_of(kit_, m), 0);
  const double lowered = fitted && dome.measured_on_upper ? m.sheet_mm : 0;
  const auto underside = [&](Vec2 p) {
    if (lowered == 0) return height_at(under, p);
    const Vec2 g = gradient_at(under, p);
    return height_at(under, p) - lowered * std::sqrt(1 + dot(g, g));
  };
  double drop = -1e300;  // the sheet comes down level until it touches
  std::vector<double> above;
  for (const Place& place : places_) {
    const Vec2 by = moved_by(kit_, *place.placement, m);
    for (const Vec3& p : place.seat) {
      above.push_back(p.z - underside({p.x + by.x, p.y + by.y}));
      drop = std::max(drop, above.back());
    }
  }
  double gap = 0;
  for (double a : above) gap = std::max(gap, drop - a);
  return gap;
}

void Envelope::find_holes(Place& place) const {
  const PlateSettings s = plate_settings(kit_, *place.part);
  const Offered right{place.part, false, place.quarter, 0};
  const Transform t = plane_transform(right);
  const std::vector<HoleSpot> holes = mounting_holes(*place.part), inserts = insert_holes(*place.part);
  if (holes.empty() || inserts.empty()) return;
  const auto nearest = [&](const std::vector<HoleSpot>& spots, Vec2 at) {
    return std::min_element(spots.begin(), spots.end(), [&](const HoleSpot& a, const HoleSpot& b) {
      return length(posed(right, a.at) - at) < length(posed(right, b.at) - at);
    });
  };
  for (Vec2 screw : carriage_holes(kit_.carriages.size)) {
    const HoleSpot& hole = *nearest(holes, screw);
    const Vec3 along = turn(t, {hole.along.x, hole.along.y, 0});
    place.carriage.push_back({posed(right, hole.at),
                              screw,
                              std::max(0.0, (hole.diameter_mm - thread_mm(s.carriage_screw)) / 2),
                              hole.extra_mm,
                              {along.x, along.y}});
  }
  const std::vector<Vec2> frame = frame_holes(*place.placement);
  for (std::size_t i = 0; i < frame.size(); ++i) {
    const double play = (place.placement->holes[i].diameter_mm - thread_mm(s.frame_screw)) / 2;
    place.frame.push_back({posed(right, nearest(inserts, frame[i])->at), frame[i], std::max(0.0, play), 0, {1, 0}});
  }
}

bool Envelope::holes_pass(const OtherMachine& m, std::string& why) const {
  for (const Place& place : places_) {
    const Vec2 by = moved_by(kit_, *place.placement, m);
    std::vector<Fit> fits = place.carriage;
    // Along the rail the carriage runs free and follows its plate.
    for (Fit& fit : fits) fit.screw.y += by.y;
    for (Fit fit : place.frame) {
      fit.screw = fit.screw + by;
      fits.push_back(fit);
    }
    if (fits.empty() || lines_up_square(fits)) continue;
    why = "the frame's holes miss the inserts: the slots and holes have no more play";
    return false;
  }
  const double spacing = kit_.carriages.spacing_mm + m.pitch_y_mm;
  if (m.pitch_y_mm != 0 && spacing < kit_.carriages.size.length_mm) {
    why = "the carriages of a rail meet";
    return false;
  }
  if (m.pitch_y_mm > 0 && layout_.travel_available_mm >= layout_.travel_needed_mm &&
      layout_.travel_available_mm - m.pitch_y_mm < layout_.travel_needed_mm) {
    why = "the carriages stand so far apart that the rails give too little travel";
    return false;
  }
  return true;
}

void Envelope::judge_screws(const OtherMachine& m, FitVerdict& verdict) const {
  for (const JointSolution& s : joints_) {
    const bool of_plate =
        std::any_of(places_.begin(), places_.end(), [&](const Place& p) { return p.part->id == s.joint.part; });
    if (!of_plate || !s.pick_mm || s.joint.anchor.kind != "insert") continue;
    Joint joint = s.joint;
    joint.layers.front().mm += m.sheet_mm;
    if (joint.behind.clear_mm) joint.behind.clear_mm = *joint.behind.clear_mm + m.carriages_mm;
    if (joint.behind.clear_mm && *joint.behind.clear_mm < 0) {
      verdict.fits = FitsAs::no;
      verdict.why = "the plate's bosses meet the base";
      return;
    }
    if (m.step_mm > 0) joint.layers.push_back({"shim", m.step_mm, 0, false});
    if (holds(joint, *s.pick_mm)) continue;
    const JointSolution other = solve_window(joint);
    const std::string kept = joint.thread + "x" + decimal(*s.pick_mm, 1);
    if (!other.pick_mm || m.step_mm > 0) {
      verdict.fits = FitsAs::no;
      verdict.why = kept + " does not hold there" + (m.step_mm > 0 ? " over the shim" : ", and no other length does");
      return;
    }
    verdict.fits = FitsAs::with;
    verdict.with = joint.thread + "x" + decimal(*other.pick_mm, 1) + " screws in place of " + kept;
  }
}

FitVerdict Envelope::judge(const OtherMachine& m) const {
  Judged known;
  return judge(m, known);
}

FitVerdict Envelope::judge(const OtherMachine& m, Judged& known) const {
  FitVerdict v;
  const auto [holes, new_holes] = known.holes.try_emplace({m.pitch_x_mm, m.pitch_y_mm});
  if (new_holes) holes->second.first = holes_pass(m, holes->second.second);
  if (!holes->second.first) {
    v.why = holes->second.second;
    v.fits = FitsAs::no;
    return v;
  }
  const auto [screws, new_screws] = known.screws.try_emplace({m.sheet_mm, m.carriages_mm, m.step_mm});
  if (new_screws) judge_screws(m, screws->second);
  v = screws->second;
  if (v.fits == FitsAs::no) return v;
  try {
    const std::array<double, 4> seen{m.pitch_x_mm, m.pitch_y_mm, m.sheet_mm, m.curvature_share};
    const auto found = known.gaps.find(seen);
    v.gap_mm = found != known.gaps.end() ? found->second : known.gaps.emplace(seen, gap(m)).first->second;
  } catch (const Error& error) {
    v.fits = FitsAs::no;
    v.why = error.what();
    return v;
  }
  const double gap_mm = std::max(v.gap_mm, m.step_mm);
  if (gap_mm <= soft_foot_mm) return v;
  const std::string shim = "a shim as thick as the gap you measure beside each frame screw";
  if (m.step_mm > 0 || gap_mm <= harmful_mm) {
    v.fits = FitsAs::with;
    v.with += (v.with.empty() ? "" : ", and ") +
              (m.step_mm > 0 ? std::string("a shim of the difference under the frame, on the lower carriages' plates")
                             : shim);
    return v;
  }
  v.fits = FitsAs::no;
  v.why = "the frame would miss a seat by more than " + mm(harmful_mm);
  return v;
}

std::vector<EnvelopeRow> Envelope::rows() const {
  std::vector<EnvelopeRow> rows;
  if (places_.empty()) return rows;
  struct Axis {
    std::string id, what, measure;
    double value, most_low, most_high;
    std::function<OtherMachine(double)> machine;  ///< of a signed change
    std::function<double(double)> measured;       ///< what one measures then
  };
  const auto plus = [](double value) { return [value](double t) { return value + t; }; };
  std::vector<Axis> axes;
  const double x = extent(kit_.frame.holes, true), y = extent(kit_.frame.holes, false);
  const double sheet = kit_.frame.sheet_thickness_mm, height = kit_.carriages.size.assembly_height_mm;
  axes.push_back({"hole-pitch-x", "frame holes, left to right", "outermost holes, centre to centre, with a caliper", x,
                  most_pitch_mm, most_pitch_mm,
                  [](double t) {
                    OtherMachine m;
                    m.pitch_x_mm = t;
                    return m;
                  },
                  plus(x)});
  axes.push_back({"hole-pitch-y", "frame holes, front to rear", "outermost holes, centre to centre, with a caliper", y,
                  most_pitch_mm, most_pitch_mm,
                  [](double t) {
                    OtherMachine m;
                    m.pitch_y_mm = t;
                    return m;
                  },
                  plus(y)});
  axes.push_back({"sheet-thickness", "sheet thickness", "caliper over the sheet, paint included", sheet,
                  std::min(most_sheet_mm, sheet - 0.3), most_sheet_mm,
                  [](double t) {
                    OtherMachine m;
                    m.sheet_mm = t;
                    return m;
                  },
                  plus(sheet)});
  const Dome& dome = kit_.frame.dome;
  const bool round = dome.shape == "sphere" || dome.shape == "cylinder" || dome.shape == "two_radius";
  if (round) {
    const double radius = dome.shape == "two_radius" ? std::min(dome.radius_x_mm, dome.radius_y_mm) : dome.radius_mm;
    const auto share = [](double t) {
      OtherMachine m;
      m.curvature_share = 1 - t;
      return m;
    };
    axes.push_back({"dome-radius",
                    dome.shape == "two_radius" ? "dome radius, the smaller (both alike in ratio)" : "dome radius",
                    "straightedge and feeler gauge, or survey", radius, most_bend, 1, share,
                    [radius](double t) { return t >= 1 ? 1e9 : radius / (1 - t); }});
  }
  axes.push_back({"carriage-height", "carriage with rail, all alike", "caliper from the base to the carriage's top",
                  height, std::min(most_height_mm, height), most_height_mm,
                  [](double t) {
                    OtherMachine m;
                    m.carriages_mm = t;
                    return m;
                  },
                  plus(height)});
  axes.push_back({"carriage-step", "one carriage against the others", "feeler gauge under a stiff flat bar", 0,
                  most_step_mm, most_step_mm,
                  [](double t) {
                    OtherMachine m;
                    m.step_mm = std::fabs(t);
                    return m;
                  },
                  plus(0)});
  Judged judged;
  for (const Axis& axis : axes) {
    EnvelopeRow row{axis.id, axis.what, axis.measure, axis.value, {}, {}, "", "", "", ""};
    for (const double sign : {-1.0, 1.0}) {
      const double most = sign < 0 ? axis.most_low : axis.most_high;
      // Both searches halve the same range and meet at the same places until they part.
      std::map<double, FitVerdict> known;
      const auto verdict = [&](double t) -> const FitVerdict& {
        const auto found = known.find(t);
        return found != known.end() ? found->second
                                    : known.emplace(t, judge(axis.machine(sign * t), judged)).first->second;
      };
      const auto yes = last_good(most, [&](double t) { return verdict(t).fits == FitsAs::yes; });
      const auto with = last_good(most, [&](double t) { return verdict(t).fits != FitsAs::no; });
      const auto end = [&](const std::optional<double>& t) {
        return t ? std::optional<double>(axis.measured(sign * *t)) : std::nullopt;
      };
      (sign < 0 ? row.yes.least : row.yes.greatest) = end(yes);
      (sign < 0 ? row.with.least : row.with.greatest) = end(with);
      const double step = 2 * found_mm * std::max(1.0, most);
      if (with) (sign < 0 ? row.low_why : row.high_why) = verdict(std::min(most, *with + step)).why;
      if (yes && (!with || *with > *yes + step))
        (sign < 0 ? row.low_with : row.high_with) = verdict(std::min(most, *yes + step)).with;
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace bedwright
