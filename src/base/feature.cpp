#include "base/feature.h"

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

const Dimension* find_dimension(const Feature& feature, const std::string& quantity) {
  for (const Dimension& d : feature.dimensions)
    if (d.quantity == quantity) return &d;
  return nullptr;
}

}  // namespace bedwright
