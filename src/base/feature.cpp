#include "base/feature.h"

#include <algorithm>

namespace bedwright {

const char* to_text(FeatureKind kind) {
  switch (kind) {
    case FeatureKind::outline: return "outline";
    case FeatureKind::seat: return "seat";
    case FeatureKind::boss: return "boss";
    case FeatureKind::clearance_hole: return "clearance_hole";
    case FeatureKind::counterbore: return "counterbore";
    case FeatureKind::slot: return "slot";
    case FeatureKind::counterbore_slot: return "counterbore_slot";
    case FeatureKind::insert_pocket: return "insert_pocket";
    case FeatureKind::chamfer: return "chamfer";
    case FeatureKind::mark: return "mark";
    case FeatureKind::key: return "key";
    default: return "notch";
  }
}

Vec3 unit(Along along) {
  return {along == Along::x ? 1.0 : 0.0, along == Along::y ? 1.0 : 0.0, along == Along::z ? 1.0 : 0.0};
}

double along_axis(Along along, Vec3 p) {
  return along == Along::x ? p.x : along == Along::y ? p.y : p.z;
}

Vec2 in_plane(Along along, Vec3 p) {
  return along == Along::x ? Vec2{p.y, p.z} : along == Along::y ? Vec2{p.x, p.z} : Vec2{p.x, p.y};
}

Vec3 in_space(Along along, Vec2 plane, double on_axis) {
  return along == Along::x   ? Vec3{on_axis, plane.x, plane.y}
         : along == Along::y ? Vec3{plane.x, on_axis, plane.y}
                             : Vec3{plane.x, plane.y, on_axis};
}

FeatureReach reach_of(const Feature& feature) {
  constexpr double beside_mm = 1e-3;  // beyond a loop's box, far more than rounding
  FeatureReach reach{&feature, {{1e300, 1e300}, {-1e300, -1e300}}};
  for (const Loop& loop : feature.profile) {
    const PlaneBox b = bounding_box(loop);
    PlaneBox& box = reach.box;
    box.low = {std::min(box.low.x, b.low.x - beside_mm), std::min(box.low.y, b.low.y - beside_mm)};
    box.high = {std::max(box.high.x, b.high.x + beside_mm), std::max(box.high.y, b.high.y + beside_mm)};
  }
  return reach;
}

bool covers(const FeatureReach& reach, Vec2 p) {
  if (!reach.near(p)) return false;
  bool inside = false;
  for (const Loop& loop : reach.feature->profile)
    if (contains(loop, p)) inside = !inside;
  return inside;
}

const Dimension* find_dimension(const Feature& feature, const std::string& quantity) {
  for (const Dimension& d : feature.dimensions)
    if (d.quantity == quantity) return &d;
  return nullptr;
}

}  // namespace bedwright
