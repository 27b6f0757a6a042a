#include "checks/seat_gap.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/numbers.h"
#include "checks/checks.h"

namespace bedwright {
namespace {

constexpr double upward = 0.5;  // least z of a bearing facet's normal: seats slope far less, walls and bevels more
constexpr int parts_of_edge = 4;

using Corners = std::array<Vec3, 3>;

bool follows_frame(const Part& part) {
  return !part.placements.empty() &&
         (part.family == "adapter_plate" || part.settings.value("seat", std::string()) == "frame");
}

const Placement* placement_of(const Layout& layout, const std::string& id) {
  for (const Placement& p : layout.placements)
    if (p.id == id) return &p;
  return nullptr;
}

/// Facets of the file, part frame, that face up where the sheet must bear.
std::vector<Corners> bearing_facets(const KnownPart& p) {
  std::vector<Corners> facets;
  const BearingArea bearing(*p.part);
  const Mesh& mesh = p.measured->mesh;
  std::vector<Vec3> at(mesh.vertices.size());
  for (std::size_t i = 0; i < at.size(); ++i) at[i] = apply(p.print_to_part, mesh.vertices[i]);
  for (const auto& t : mesh.triangles) {
    const Corners c{at[t[0]], at[t[1]], at[t[2]]};
    const Vec3 normal = cross(c[1] - c[0], c[2] - c[0]);
    if (!(normal.z > upward * length(normal))) continue;
    const Vec3 middle = (1.0 / 3) * (c[0] + c[1] + c[2]);
    if (bearing.has({middle.x, middle.y})) facets.push_back(c);
  }
  return facets;
}

SeatGap gap_at(const std::vector<Corners>& facets, const Part& part, std::size_t i, const Placement& placement,
               const Surface& underside) {
  SeatGap gap;
  gap.part = part.id;
  gap.placement = placement.id;
  const int quarter = i < part.quarter_turns.size() ? part.quarter_turns[i] : 0;
  const Transform to_machine = compose(shift({placement.at.x, placement.at.y, 0}), quarter_turn(2, quarter));
  bool first = true;
  const auto look = [&](Vec3 p) {
    const double air = height_at(underside, {p.x, p.y}) - p.z;
    if (first || air < gap.least_mm) gap.least_mm = air, gap.least_at = {p.x, p.y};
    if (first || air > gap.greatest_mm) gap.greatest_mm = air, gap.greatest_at = {p.x, p.y};
    first = false;
  };
  for (const Corners& part_corners : facets) {
    Corners c;
    for (int k = 0; k < 3; ++k) c[k] = apply(to_machine, part_corners[k]);
    const Vec3 normal = cross(c[1] - c[0], c[2] - c[0]);
    gap.bears_mm2 += normal.z / 2;
    for (int a = 0; a <= parts_of_edge; ++a)
      for (int b = 0; a + b <= parts_of_edge; ++b)
        look(c[0] + (double(a) / parts_of_edge) * (c[1] - c[0]) + (double(b) / parts_of_edge) * (c[2] - c[0]));
  }
  if (part.family != "adapter_plate") {
    gap.greatest_mm -= gap.least_mm;
    gap.least_mm = 0;
  }
  return gap;
}

std::string at_text(Vec2 p) {
  return "(" + decimal(p.x, 1) + ", " + decimal(p.y, 1) + ")";
}

}  // namespace

BearingArea::BearingArea(const Part& part) {
  for (const Feature& f : part.features) {
    if (f.kind == FeatureKind::seat) seats_.push_back(reach_of(f));
    if (f.effect == Effect::cut && f.to.kind != Bound::Kind::flat) openings_.push_back(reach_of(f));
  }
}

bool BearingArea::has(Vec2 p) const {
  const bool within = std::any_of(seats_.begin(), seats_.end(), [p](const FeatureReach& seat) {
    const std::vector<Loop>& loops = seat.feature->profile;
    return seat.near(p) && std::any_of(loops.begin(), loops.end(), [p](const Loop& l) { return contains(l, p); });
  });
  return within && std::none_of(openings_.begin(), openings_.end(), [p](const FeatureReach& f) { return covers(f, p); });
}

std::vector<SeatGap> seat_gaps(const Layout& layout, const std::vector<KnownPart>& parts) {
  std::vector<SeatGap> gaps;
  for (const KnownPart& p : parts) {
    if (!p.measured || !follows_frame(*p.part)) continue;
    const std::vector<Corners> facets = bearing_facets(p);
    for (std::size_t i = 0; i < p.part->placements.size(); ++i)
      if (const Placement* placement = placement_of(layout, p.part->placements[i]))
        gaps.push_back(gap_at(facets, *p.part, i, *placement, layout.underside));
  }
  return gaps;
}

void check_seat_gap(const Known& known, std::vector<Finding>& findings) {
  for (const SeatGap& gap : known.seat_gaps) {
    const bool air = gap.greatest_mm >= -gap.least_mm;
    const double worst = air ? gap.greatest_mm : -gap.least_mm;
    if (gap.bears_mm2 <= 0) {
      findings.push_back({"seat-gap", Severity::error, gap.part, "seat",
                          gap.part + ": nothing of the file lies where the frame must bear at " + gap.placement, 0,
                          seat_gap_limit_mm, "mm", "do not print it; make the part again"});
      continue;
    }
    if (worst <= seat_gap_limit_mm) continue;
    findings.push_back({"seat-gap", worst > harmful_mm ? Severity::error : Severity::warning, gap.part, "seat",
                        gap.part + " at " + gap.placement + ": the file " +
                            (air ? "leaves " + decimal(worst, 3) + " mm of air under the frame at "
                                 : "stands " + decimal(worst, 3) + " mm into the frame at ") +
                            at_text(air ? gap.greatest_at : gap.least_at),
                        worst, seat_gap_limit_mm, "mm", "do not print it; make the part again from this kit"});
  }
}

}  // namespace bedwright
