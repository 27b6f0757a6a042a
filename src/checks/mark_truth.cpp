#include "checks/mark_truth.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "checks/driver_access.h"
#include "checks/offered.h"
#include "checks/way_screws.h"
#include "parts/lettering.h"

namespace bedwright {
namespace {

constexpr double same_point = 2e-3;  // of a shape's size: lattice and turning stay far below
constexpr double one_degree_cosine = 0.99985;
constexpr double edge_step_mm = 1;

std::vector<Vec2> corners_of(const Loop& loop) {
  std::vector<Vec2> corners;
  for (const Curve& c : loop.curves) corners.push_back(c.start);
  return corners;
}

Vec2 mean(const std::vector<Vec2>& points) {
  Vec2 sum;
  for (Vec2 p : points) sum = sum + p;
  return (1.0 / double(points.size())) * sum;
}

/// The turn that carries `drawn` onto `found` corner by corner, both about their middles and to one scale; nothing if
/// none does. Corners run counter-clockwise in both, from any start; with `mirrored`, drawn's mirror image is tried.
std::optional<Vec2> turn_onto(std::vector<Vec2> drawn, std::vector<Vec2> found, bool mirrored) {
  const std::size_t n = drawn.size();
  if (n < 3 || found.size() != n) return std::nullopt;
  if (mirrored) {
    for (Vec2& p : drawn) p.x = -p.x;
    std::reverse(drawn.begin(), drawn.end());
  }
  const Vec2 a = mean(drawn), b = mean(found);
  double size_a = 0, size_b = 0;
  for (Vec2& p : drawn) p = p - a, size_a += dot(p, p);
  for (Vec2& p : found) p = p - b, size_b += dot(p, p);
  if (!(size_a > 0) || !(size_b > 0)) return std::nullopt;
  for (std::size_t start = 0; start < n; ++start) {
    Vec2 turned;  // the best turn as a complex number, scaled
    for (std::size_t i = 0; i < n; ++i) {
      const Vec2 p = drawn[i], q = found[(i + start) % n];
      turned = turned + Vec2{dot(p, q), cross(p, q)};
    }
    // Equality of Cauchy and Schwarz: one is the other turned and scaled.
    const double likeness = length(turned) / std::sqrt(size_a * size_b);
    if (likeness > 1 - same_point * same_point) return (1 / length(turned)) * turned;
  }
  return std::nullopt;
}

std::vector<const Feature*> marks_of(const Part& part) {
  std::vector<const Feature*> marks;
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::mark) marks.push_back(&f);
  return marks;
}

bool reads_straight(const Loop& loop, const std::string& characters, bool mirrored) {
  for (char c : characters) {
    if (!has_glyph(c) || c == ' ') continue;
    for (const Loop& drawn : letter_loops(std::string(1, c), 1))
      if (turn_onto(corners_of(drawn), corners_of(loop), mirrored)) return true;
  }
  return turn_onto(corners_of(arrow_loop(1)), corners_of(loop), mirrored).has_value();
}

Vec2 quarter_turned(Vec2 d, int quarter) {
  const Vec3 r = turn(quarter_turn(2, quarter), {d.x, d.y, 0});
  return {r.x, r.y};
}

}  // namespace

std::optional<Vec2> arrow_of(const Part& part) {
  for (const Feature* mark : marks_of(part))
    for (const Loop& loop : mark->profile)
      if (const auto turned = turn_onto(corners_of(arrow_loop(1)), corners_of(loop), false))
        return Vec2{-turned->y, turned->x};  // +Y as drawn
  return std::nullopt;
}

std::string mark_hidden(const Kit& kit, const Layout& layout, const std::vector<const Part*>& parts, const Part& part) {
  const std::vector<LyingPlate> plates = lying_plates(layout, parts);
  const WayScrews screws = screws_of_part(kit, part);
  const Face face(part, true);
  const std::vector<HoleSpot> holes = mounting_holes(part);
  for (const Feature* mark : marks_of(part)) {
    const bool upward =
        mark->effect == Effect::cut ? mark->to.kind != Bound::Kind::flat : mark->from.kind != Bound::Kind::open;
    if (!upward || mark->axis.z < 0) return mark->id + " opens downward, onto the carriage";
    for (const Loop& loop : mark->profile)
      for (const EdgePoint& e : edge_points(loop, edge_step_mm)) {
        const auto top = face.at(e.at);
        if (!top) return mark->id + " runs into a hole";
        if (mark->from.kind == Bound::Kind::flat && *top - mark->from.z_mm <= 0)
          return mark->id + " is shallower than the face it is cut into";
        const Feature* below = nullptr;
        for (const Feature& f : part.features)
          if (f.effect == Effect::add && f.kind == FeatureKind::boss && contains(f.profile.front(), e.at) &&
              f.to.kind != Bound::Kind::flat)
            below = &f;
        if (below) return mark->id + " lies under " + below->id;
        for (const HoleSpot& hole : holes)
          if (length(hole.at - e.at) < screws.head_radius_mm + hole.extra_mm / 2 && screws.head_radius_mm > 0)
            return mark->id + " lies under the screw head in " + hole.id;
        for (const LyingPlate& own : plates) {
          if (own.part != &part) continue;
          const Vec2 at = posed(own.pose, e.at) + own.placement->at;
          for (const LyingPlate& other : plates)
            if (const auto z = highest_in(other, at, 0); other.placement != own.placement && z && *z > *top)
              return mark->id + " lies under " + other.part->id + " at " + other.placement->id;
        }
      }
  }
  return {};
}

std::string mark_mirrored(const Part& part) {
  std::string characters;
  for (char c : part.mark_text)
    if (characters.find(c) == std::string::npos) characters += c;
  for (const Feature* mark : marks_of(part))
    for (const Loop& loop : mark->profile)
      if (!reads_straight(loop, characters, false) && reads_straight(loop, characters, true))
        return "a letter of " + mark->id + " reads the wrong way round";
  return {};
}

std::string mark_false(const Layout& layout, const Part& part) {
  const std::optional<Vec2> arrow = arrow_of(part);
  if (!arrow) return {};
  const bool to_centre = part.mark_text.find("centre") != std::string::npos;
  for (std::size_t i = 0; i < part.placements.size() && i < part.quarter_turns.size(); ++i)
    for (const Placement& p : layout.placements) {
      if (p.id != part.placements[i]) continue;
      const Vec2 wanted = to_centre ? (-1.0 / length(p.at)) * p.at : Vec2{0, -1};
      if (dot(quarter_turned(*arrow, part.quarter_turns[i]), wanted) < one_degree_cosine)
        return "at " + p.id + " the arrow does not point to the machine's " + (to_centre ? "centre" : "front");
    }
  return {};
}

}  // namespace bedwright
