#include "mechanics/rail_beam.h"

#include <algorithm>
#include <cmath>

#include "kit/hardware.h"
#include "layout/pairing.h"
#include "mechanics/constants.h"

namespace bedwright {
namespace {

constexpr int positions = 24;  // of the bed along its travel, both ends included
constexpr double steepest = 0.01;
constexpr double same_mm = 1e-6;

constexpr double tie_share = 1e-9;

struct Worst {
  double sag = 0, at_y = 0, slope = 0, difference = 0, front_at_worst = 0;
};

bool bears(const RailLine& line) {
  return line.backed.size() + line.screws.size() > 0 && !line.backed.empty();
}

/// Carriages' centres on this rail while the bed's centre is at y.
std::pair<double, double> carriages_at(const Layout& layout, double y) {
  const double half = layout.carriage_spacing_mm / 2;
  return {y - half, y + half};
}

Worst worst_of(const Kit& kit, const Layout& layout, const RailLine& line, double load_n) {
  Worst worst;
  const double half = kit.rails.length_mm / 2;
  const double reach = std::min(layout.travel_needed_mm, std::max(layout.travel_available_mm, 0.0)) / 2;
  for (int k = 0; k < positions; ++k) {
    const auto [front, rear] = carriages_at(layout, -reach + 2 * reach * k / (positions - 1));
    if (front < -half || rear > half) continue;
    const BeamSag sag = sag_of(rail_beam(kit, line, load_n, front, rear));
    const double a = deflection_at(sag, front + half), b = deflection_at(sag, rear + half);
    for (const auto& [y, w] : {std::pair<double, double>{front, a}, {rear, b}}) {
      worst.slope = std::max(worst.slope, std::fabs(slope_at(sag, y + half)));
      if (w <= worst.sag * (1 + tie_share)) continue;  // of equal ones the first, whatever rounding says
      worst.sag = w;
      worst.at_y = y;
      worst.front_at_worst = front;
    }
    worst.difference = std::max(worst.difference, std::fabs(a - b));
  }
  return worst;
}

double first_mode(const Kit& kit, const Layout& layout, const RailLine& line, const Worst& worst, double moving_g) {
  const double half = kit.rails.length_mm / 2;
  BeamModel model = rail_beam(kit, line, 0, worst.front_at_worst, worst.front_at_worst + layout.carriage_spacing_mm);
  model.forces.clear();
  for (const double y : {worst.front_at_worst, worst.front_at_worst + layout.carriage_spacing_mm})
    model.masses.push_back({y + half, moving_g / 4});
  const std::vector<double> hertz = frequencies_of(model, 1);
  return hertz.empty() ? 0 : hertz.front();
}

/// Screws next to the gaps, two at each edge.
std::vector<int> near_gaps(const RailLine& line) {
  std::vector<int> chosen;
  const auto take = [&](double edge, bool before) {
    std::vector<std::pair<double, int>> side;
    for (const RailScrew& s : line.screws)
      if (s.usable && (before ? s.y_mm <= edge : s.y_mm >= edge)) side.push_back({std::fabs(s.y_mm - edge), s.n});
    std::sort(side.begin(), side.end());
    for (std::size_t i = 0; i < std::min<std::size_t>(2, side.size()); ++i) chosen.push_back(side[i].second);
  };
  const double rail_end = line.screws.empty() ? 0 : std::fabs(line.screws.front().y_mm);
  for (const RailGap& g : line.gaps) {
    if (!g.overhang || g.from_mm > -rail_end) take(g.from_mm, true);
    if (!g.overhang || g.to_mm < rail_end) take(g.to_mm, false);
  }
  std::sort(chosen.begin(), chosen.end());
  chosen.erase(std::unique(chosen.begin(), chosen.end()), chosen.end());
  return chosen;
}

int usable_in(const RailLine& line, const Span& span) {
  int n = 0;
  for (const RailScrew& s : line.screws) n += s.usable && s.y_mm >= span.from && s.y_mm <= span.to ? 1 : 0;
  return n;
}

}  // namespace

BeamModel rail_beam(const Kit& kit, const RailLine& line, double load_n, double y_front, double y_rear) {
  const double half = kit.rails.length_mm / 2;
  const Material* steel = find_material("steel");
  const double width = kit.rails.size.width_mm, height = kit.rails.size.height_mm;
  BeamModel model;
  model.length_mm = kit.rails.length_mm;
  model.bend_nmm2 = steel->modulus_gpa * 1000 * rail_moment_share * rectangle_moment_mm4(width, height);
  // kg a metre: g/cm3 x mm2 / 1000; the section fills less than its rectangle, by about the same share.
  model.mass_kg_m = steel->density_g_cm3 * width * height / 1000 * rail_moment_share;
  std::vector<double> at;
  for (const RailScrew& s : line.screws)
    if (s.usable) at.push_back(s.y_mm);
  for (const Span& s : line.backed) at.insert(at.end(), {s.from, s.to});
  std::sort(at.begin(), at.end());
  at.erase(std::unique(at.begin(), at.end(), [](double a, double b) { return b - a < same_mm; }), at.end());
  for (const double y : at) {
    double stiffness = 0;
    for (const RailPad& p : line.pads) {
      if (y < p.from_mm - same_mm || y > p.to_mm + same_mm || p.stiffness_n_mm <= 0) continue;
      const auto on_it = std::count_if(at.begin(), at.end(), [&](double other) {
        return other >= p.from_mm - same_mm && other <= p.to_mm + same_mm;
      });
      stiffness = p.stiffness_n_mm / static_cast<double>(on_it);
    }
    model.supports.push_back({y + half, stiffness});
  }
  for (const double y : {y_front, y_rear}) model.forces.push_back({std::clamp(y + half, 0.0, 2 * half), load_n});
  return model;
}

bool bend_alike(const RailLine& a, const RailLine& b) {
  const auto alike = [](const auto& x, const auto& y, auto same) {
    return x.size() == y.size() && std::equal(x.begin(), x.end(), y.begin(), same);
  };
  return alike(a.screws, b.screws,
               [](const RailScrew& x, const RailScrew& y) {
                 return x.n == y.n && x.y_mm == y.y_mm && x.usable == y.usable;
               }) &&
         alike(a.backed, b.backed, [](const Span& x, const Span& y) { return x.from == y.from && x.to == y.to; }) &&
         alike(a.pads, b.pads,
               [](const RailPad& x, const RailPad& y) {
                 return x.from_mm == y.from_mm && x.to_mm == y.to_mm && x.stiffness_n_mm == y.stiffness_n_mm;
               }) &&
         alike(a.gaps, b.gaps, [](const RailGap& x, const RailGap& y) {
           return x.from_mm == y.from_mm && x.to_mm == y.to_mm && x.overhang == y.overhang;
         });
}

RailBending rail_bending(const Kit& kit, const Layout& layout, const RailLine& line, double moving_g) {
  RailBending r;
  r.side = line.side;
  r.load_n = moving_g / 4 * 1e-3 * standard_gravity;
  r.limit_mm = guideway_limits(kit).along_mm;
  if (!line.backed.empty()) {
    r.front_screws = usable_in(line, line.backed.front());
    r.rear_screws = usable_in(line, line.backed.back());
  }
  if (line.gaps.empty() || !bears(line) || line.usable() == 0) return r;
  const Worst worst = worst_of(kit, layout, line, r.load_n);
  r.sag_mm = worst.sag;
  r.at_y_mm = worst.at_y;
  r.slope = worst.slope;
  r.difference_mm = worst.difference;
  r.small_deflection = worst.sag < kit.rails.size.height_mm / 2 && worst.slope < steepest;
  r.first_hz = first_mode(kit, layout, line, worst, moving_g);
  for (const int n : near_gaps(line)) {
    RailLine fewer = line;
    for (RailScrew& s : fewer.screws)
      if (s.n == n) s.usable = false;
    if (fewer.usable() == 0) continue;
    const Worst without = worst_of(kit, layout, fewer, r.load_n);
    r.lost.push_back({n, without.sag, first_mode(kit, layout, fewer, without, moving_g)});
  }
  if (r.difference_mm <= r.limit_mm) return r;
  // The middle of the widest gap; of an overhang its free end.
  const auto widest = std::max_element(line.gaps.begin(), line.gaps.end(), [](const RailGap& a, const RailGap& b) {
    return a.to_mm - a.from_mm < b.to_mm - b.from_mm;
  });
  const bool front_end = widest->overhang && widest->from_mm <= -kit.rails.length_mm / 2 + same_mm;
  const double y = !widest->overhang ? (widest->from_mm + widest->to_mm) / 2
                   : front_end       ? widest->from_mm
                                     : widest->to_mm;
  RailLine helped = line;
  helped.backed.push_back({y, y});
  r.middle_support_mm = y;
  r.with_support_mm = worst_of(kit, layout, helped, r.load_n).difference;
  return r;
}

}  // namespace bedwright
