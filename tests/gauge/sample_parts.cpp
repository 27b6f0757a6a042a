#include "gauge/sample_parts.h"

#include <algorithm>
#include <cmath>

namespace samples {

using namespace bedwright;
using shapes::Column;

namespace {

int facets_for(double diameter) {
  return diameter < 5 ? 28 : 40;
}

shapes::Height height_of(const Surface& s) {
  switch (s.shape) {
    case SurfaceShape::sphere:
      return shapes::sphere(s.radius_x, s.apex, s.height, s.sign);
    case SurfaceShape::cylinder:
      return shapes::cylinder(s.radius_x, s.apex.x, s.height, s.sign);
    case SurfaceShape::two_radius:
      return shapes::two_radius(s.radius_x, s.radius_y, s.apex, s.height, s.sign);
    default:
      return shapes::flat(s.height);
  }
}

Feature round(const std::string& id, FeatureKind kind, Vec2 at, double diameter, Bound from, Bound to) {
  Feature f;
  f.id = id;
  f.kind = kind;
  f.effect = kind == FeatureKind::boss ? Effect::add : Effect::cut;
  f.profile = {circle_loop(at, diameter / 2, kind == FeatureKind::boss ? Facets::inside : Facets::outside)};
  f.from = from;
  f.to = to;
  f.at = {at.x, at.y, 0};
  f.dimensions = {{"diameter", diameter, diameter, 0.02}, {"x", at.x, at.x, 0.005}, {"y", at.y, at.y, 0.005}};
  return f;
}

}  // namespace

Part part_of(const Recipe& r) {
  Part part;
  part.id = r.id;
  part.seat = r.seat;
  Feature outline;
  outline.id = "outline";
  outline.kind = FeatureKind::outline;
  outline.effect = Effect::add;
  outline.profile = {rectangle_loop({0, 0}, r.size, r.corner)};
  outline.from = Bound::at(0);
  outline.to = Bound::at_seat();
  outline.dimensions = {{"length", r.size.x, r.size.x, 0.03}, {"width", r.size.y, r.size.y, 0.03}};
  part.features.push_back(outline);
  Feature seat;
  seat.id = "seat";
  seat.kind = FeatureKind::seat;
  seat.profile = outline.profile;
  const double reach = 0.5 * length(r.size);
  const auto radius = [&](const char* quantity, double value) {
    seat.dimensions.push_back({quantity, value, value, value * (1e-3 + 6e-5 * value / (reach * reach))});
  };
  if (r.seat.shape == SurfaceShape::two_radius) {
    radius("radius_x", r.seat.radius_x);
    radius("radius_y", r.seat.radius_y);
  } else if (r.seat.shape != SurfaceShape::plane) {
    radius("radius", r.seat.radius_x);
  }
  if (r.seat.shape != SurfaceShape::plane) seat.dimensions.push_back({"apex_x", r.seat.apex.x, r.seat.apex.x, 0.5});
  // Least height: at the corners (facets of the rounds, checked to the seat's slope) or at the apex.
  const shapes::Height h = height_of(r.seat);
  double least = 1e300;
  for (Vec2 p : shapes::rounded_rectangle({0, 0}, r.size, r.corner, 12)) least = std::min(least, h(p.x, p.y));
  const double x = r.size.x / 2, y = r.size.y / 2;
  if (r.seat.sign < 0) least = std::min(least, h(std::clamp(r.seat.apex.x, -x, x), std::clamp(r.seat.apex.y, -y, y)));
  seat.dimensions.push_back({"thickness", least, least, 0.012});
  part.features.push_back(seat);
  for (const Item& i : r.items) switch (i.kind) {
      case Item::Kind::hole:
        part.features.push_back(
            round(i.id, FeatureKind::clearance_hole, i.at, i.diameter, Bound::open(), Bound::open()));
        break;
      case Item::Kind::counterbore:
        part.features.push_back(round(i.id, FeatureKind::clearance_hole, i.at, i.inner, Bound::open(), Bound::open()));
        part.features.push_back(
            round("head-" + i.id, FeatureKind::counterbore, i.at, i.diameter, Bound::at(i.level), Bound::open()));
        break;
      case Item::Kind::slot: {
        Feature f = round(i.id, FeatureKind::slot, i.at, i.diameter, Bound::open(), Bound::open());
        f.dimensions[0].quantity = "width";
        f.dimensions.push_back({"length", i.diameter + i.extra, i.diameter + i.extra, 0.02});
        part.features.push_back(f);
        break;
      }
      case Item::Kind::boss_below:
      case Item::Kind::boss_above: {
        const bool below = i.kind == Item::Kind::boss_below;
        Feature b = below ? round(i.id, FeatureKind::boss, i.at, i.diameter, Bound::at(i.level), Bound::at(0))
                          : round(i.id, FeatureKind::boss, i.at, i.diameter, Bound::at_seat(), Bound::at(i.level));
        if (below) b.dimensions.push_back({"height", -i.level, -i.level, 0.005});
        part.features.push_back(b);
        if (i.inner > 0 && below) {
          Feature p = round("insert-" + i.id, FeatureKind::insert_pocket, i.at, i.inner, Bound::open(), Bound::at(1.5));
          p.dimensions.push_back({"depth", 1.5 - i.level, 1.5 - i.level, 0.005});
          part.features.push_back(p);
        }
        break;
      }
      case Item::Kind::pocket_below: {
        Feature p = round(i.id, FeatureKind::insert_pocket, i.at, i.diameter, Bound::open(), Bound::at(i.level));
        p.dimensions.push_back({"depth", i.level, i.level, 0.005});
        part.features.push_back(p);
        break;
      }
    }
  return part;
}

Mesh mesh_of(const Recipe& r) {
  shapes::Plate plate;
  const bool disc = 2 * r.corner >= r.size.x;
  plate.outline =
      disc ? shapes::circle({0, 0}, r.size.x, 64, false) : shapes::rounded_rectangle({0, 0}, r.size, r.corner, 12);
  plate.top = height_of(r.seat);
  plate.grid_mm = r.seat.shape == SurfaceShape::plane ? 0 : 5;
  for (const Item& i : r.items) {
    Column c;
    c.level = i.level;
    c.outer = shapes::circle(i.at, i.diameter, facets_for(i.diameter), true);
    if (i.inner > 0) c.inner = shapes::circle(i.at, i.inner, facets_for(i.inner), true);
    switch (i.kind) {
      case Item::Kind::hole:
        c.kind = Column::Kind::hole;
        break;
      case Item::Kind::counterbore:
        c.kind = Column::Kind::counterbore_top;
        break;
      case Item::Kind::slot:
        c.kind = Column::Kind::hole;
        c.outer = shapes::slot(i.at, i.diameter, i.diameter + i.extra, {1, 0}, 28);
        break;
      case Item::Kind::boss_below:
        c.kind = Column::Kind::boss_bottom;
        c.outer = shapes::circle(i.at, i.diameter, 48, false);
        c.inner_level = 1.5;
        break;
      case Item::Kind::boss_above:
        c.kind = Column::Kind::boss_top;
        c.outer = shapes::circle(i.at, i.diameter, 48, false);
        c.inner_level = i.level - 4.5;
        break;
      case Item::Kind::pocket_below:
        c.kind = Column::Kind::blind_bottom;
        break;
    }
    plate.columns.push_back(c);
  }
  return shapes::build(plate);
}

std::vector<Recipe> three_plates() {
  using K = Item::Kind;
  Surface ball, roll, torus;
  ball.shape = SurfaceShape::sphere;
  ball.radius_x = ball.radius_y = 2600;
  ball.apex = {30, 12};
  ball.height = 6.5;
  roll.shape = SurfaceShape::cylinder;
  roll.radius_x = roll.radius_y = 1500;
  roll.apex = {-20, 0};
  roll.height = 6.2;
  torus.shape = SurfaceShape::two_radius;
  torus.radius_x = 1800;
  torus.radius_y = 2400;
  torus.apex = {10, -25};
  torus.height = 6;
  torus.sign = -1;
  return {{"adapter-a",
           {60, 40},
           5,
           ball,
           {{K::counterbore, "screw-1", {-10, -10}, 6.5, 3.4, 0, 3},
            {K::counterbore, "screw-2", {10, -10}, 6.5, 3.4, 0, 3},
            {K::counterbore, "screw-3", {-10, 10}, 6.5, 3.4, 0, 3},
            {K::hole, "frame-1", {4, 13}, 4.5},
            {K::boss_below, "boss-1", {22, 9}, 10, 5.6, 0, -4},
            {K::boss_below, "boss-2", {-22, -8}, 10, 5.6, 0, -4}}},
          {"bracket",
           {50, 50},
           4,
           roll,
           {{K::counterbore, "screw-1", {-12, -15}, 6.5, 3.4, 0, 3},
            {K::counterbore, "screw-2", {14, 12}, 6.5, 3.4, 0, 3},
            {K::slot, "slot-1", {-10, 14}, 3.4, 0, 3, 0},
            {K::boss_below, "boss-1", {15, -14}, 9, 4.0, 0, -5}}},
          {"support",
           {70, 30},
           6,
           torus,
           {{K::hole, "frame-1", {-25, 4}, 5.5},
            {K::hole, "frame-2", {26, -6}, 5.5},
            {K::pocket_below, "pocket-1", {2, -8}, 4, 0, 0, 3},
            {K::boss_below, "boss-1", {-8, 5}, 10, 5.6, 0, -4},
            {K::boss_below, "boss-2", {12, 4}, 10, 5.6, 0, -4}}}};
}

Recipe other_hand(Recipe r, const std::string& id) {
  r.id = id;
  r.seat.apex.x = -r.seat.apex.x;
  for (Item& i : r.items) i.at.x = -i.at.x;
  return r;
}

Recipe plain_ring() {
  Recipe r;
  r.id = "spacer";
  r.size = {14, 14};
  r.corner = 7;
  r.seat.height = 8;
  r.items = {{Item::Kind::hole, "hole-1", {0, 0}, 4.5}};
  return r;
}

}  // namespace samples
