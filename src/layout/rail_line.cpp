#include "layout/rail_line.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "joints/joints.h"
#include "kit/hardware.h"
#include "layout/bracket_plan.h"

namespace bedwright {
namespace {

constexpr double same_mm = 1e-6;

double screw_diameter(const Kit& kit) {
  const ThreadSize* thread = find_thread(kit.rails.size.screw);
  return thread ? thread->diameter_mm : kit.rails.size.hole_mm;
}

const RailPad* pad_at(const std::vector<RailPad>& pads, double y, double wall) {
  for (const RailPad& p : pads)
    if (y - wall >= p.from_mm && y + wall <= p.to_mm) return &p;
  return nullptr;
}

/// The keep-out that a screw's column enters, or empty.
std::string hits(const Kit& kit, Vec2 at, double radius, double low, double high) {
  for (const Json& k : kit.keep_outs) {
    const Json &least = k.at("min_mm"), &most = k.at("max_mm");
    const Vec2 beyond{std::max({least[0].get<double>() - at.x, at.x - most[0].get<double>(), 0.0}),
                      std::max({least[1].get<double>() - at.y, at.y - most[1].get<double>(), 0.0})};
    if (length(beyond) < radius && low < most[2].get<double>() && high > least[2].get<double>())
      return k.at("id").get<std::string>();
  }
  return "";
}

RailScrew judged(const Kit& kit, const std::vector<RailPad>& pads, double x, double y, int n, double tip_below_mm) {
  RailScrew screw{n, y, true, ""};
  const double diameter = screw_diameter(kit), wall = base_wall_of_diameter * diameter;
  const RailPad* pad = pad_at(pads, y, diameter / 2);
  if (pad) screw.why = "in the pad from y " + decimal(pad->from_mm, 1) + " to " + decimal(pad->to_mm, 1);
  if (!pad && kit.base && !base_holds(*kit.base, {x, y}, wall)) {
    screw.usable = false;
    bool opening = false;
    for (const BaseArea& o : kit.base->openings)
      if (x > o.low.x - wall && x < o.high.x + wall && y > o.low.y - wall && y < o.high.y + wall) {
        screw.why = "over the opening " + o.id;
        opening = true;
      }
    if (!opening) screw.why = "beyond the base, or less than " + decimal(wall, 1) + " mm from its edge";
    return screw;
  }
  const double foot = -kit.carriages.size.assembly_height_mm;
  // Without a pick the base's thickness is the least that a screw passes.
  const double below = tip_below_mm > 0 ? tip_below_mm : kit.base ? kit.base->thickness_mm : 0;
  const std::string hit = below > 0 ? hits(kit, {x, y}, diameter / 2, foot - below, foot) : "";
  if (!hit.empty()) {
    screw.usable = false;
    screw.why = "its screw runs into the keep-out " + hit;
  }
  return screw;
}

std::vector<Span> joined(std::vector<Span> spans) {
  std::sort(spans.begin(), spans.end(), [](const Span& a, const Span& b) { return a.from < b.from; });
  std::vector<Span> out;
  for (const Span& s : spans)
    if (!out.empty() && s.from <= out.back().to + same_mm)
      out.back().to = std::max(out.back().to, s.to);
    else
      out.push_back(s);
  return out;
}

}  // namespace

int RailLine::usable() const {
  return static_cast<int>(std::count_if(screws.begin(), screws.end(), [](const RailScrew& s) { return s.usable; }));
}

std::vector<RailLine> rail_lines(const Kit& kit, const Layout& layout, double tip_below_mm) {
  std::vector<RailLine> lines;
  const double half = kit.rails.length_mm / 2;
  for (const double side : {-1.0, 1.0}) {
    RailLine line;
    line.side = side < 0 ? "left" : "right";
    line.x_mm = side * kit.rails.pitch_mm / 2;
    line.pads = rail_pads(kit, layout, line.x_mm);
    line.base_known = kit.base || !line.pads.empty();
    for (int i = 0; i < layout.rail_holes; ++i)
      line.screws.push_back(judged(kit, line.pads, line.x_mm, -half + layout.rail_first_hole_mm + i * kit.rails.size.hole_pitch_mm,
                                   i + 1, tip_below_mm));
    std::vector<Span> spans;
    if (!line.base_known) spans.push_back({-half, half});
    if (kit.base)
      for (Span s : backed_spans(*kit.base, line.x_mm, kit.rails.size.width_mm / 2)) {
        s = {std::max(s.from, -half), std::min(s.to, half)};
        if (s.to - s.from > same_mm) spans.push_back(s);
      }
    for (const RailPad& p : line.pads) {
      const Span s{std::max(p.from_mm, -half), std::min(p.to_mm, half)};
      if (s.to - s.from > same_mm) spans.push_back(s);
    }
    line.backed = joined(std::move(spans));
    double at = -half;
    for (const Span& s : line.backed) {
      if (s.from - at > same_mm) line.gaps.push_back({at, s.from, at <= -half + same_mm});
      at = s.to;
    }
    if (half - at > same_mm) line.gaps.push_back({at, half, true});
    lines.push_back(std::move(line));
  }
  return lines;
}

std::vector<RailLine> rail_lines(const Kit& kit, const Layout& layout) {
  double tip = 0;
  if (layout.rail_holes > 0)
    if (const auto joint = rail_joint(kit, layout.rail_holes)) {
      const JointSolution s = solve_window(*joint);
      if (s.pick_mm) tip = std::max(0.0, *s.pick_mm - kit.rails.under_head_mm);
    }
  return rail_lines(kit, layout, tip);
}

}  // namespace bedwright
