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

const Dimension* find_dimension(const Feature& feature, const std::string& quantity) {
  for (const Dimension& d : feature.dimensions)
    if (d.quantity == quantity) return &d;
  return nullptr;
}

}  // namespace bedwright
