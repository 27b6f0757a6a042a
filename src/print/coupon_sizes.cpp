#include "print/coupon_sizes.h"

#include <algorithm>

#include "base/error.h"
#include "base/numbers.h"

namespace bedwright {
namespace {

using Kind = CouponSize::Kind;

const Feature* find(const Part& part, const std::string& id) {
  const auto found = std::find_if(part.features.begin(), part.features.end(), [&](const Feature& f) { return f.id == id; });
  return found == part.features.end() ? nullptr : &*found;
}

CouponSize size_of(const Feature& f, const char* dimension_name, Kind kind, char axis, const std::string& how) {
  const Dimension* d = find_dimension(f, dimension_name);
  if (!d) throw Error("the coupon's " + f.id + " has no " + dimension_name);
  return {f.id, dimension_name, kind, axis, d->nominal_mm, d->modelled_mm, d->modelled_mm, how};
}

/// Seen from above, letters upright, from the body's middle.
std::string place(const Feature& f) {
  return "at x " + decimal(f.at.x, 1) + ", y " + decimal(f.at.y, 1);
}

bool begins(const std::string& id, const char* with) {
  return id.rfind(with, 0) == 0;
}

/// Both walls of a hole shift alike, so that far and near walls together tell spacing from diameter.
void spacing(const Part& part, const std::string& a, const std::string& b, char axis, std::vector<CouponSize>& sizes) {
  const Feature *first = find(part, "spacing-" + a), *second = find(part, "spacing-" + b);
  if (!first || !second) return;
  const Dimension *one = find_dimension(*first, "diameter"), *other = find_dimension(*second, "diameter");
  if (!one || !other) return;
  const double apart = length(Vec2{second->at.x - first->at.x, second->at.y - first->at.y});
  const double drawn = (one->nominal_mm + other->nominal_mm) / 2, made = (one->modelled_mm + other->modelled_mm) / 2;
  const std::string id = "spacing-" + a + "-" + b;
  const std::string holes = "corner holes " + place(*first) + " and " + place(*second);
  sizes.push_back({id, "far walls", Kind::spacing_far, axis, apart + drawn, apart + made, apart + made,
                   holes + ": inside jaws pushed apart against the far walls"});
  sizes.push_back({id, "near walls", Kind::spacing_near, axis, apart - drawn, apart - made, apart - made,
                   holes + ": outside jaws closed on the bridge between the near walls"});
}

}  // namespace

std::vector<CouponSize> coupon_sizes(const Part& part) {
  std::vector<CouponSize> sizes;
  const Feature& body = part.features.front();
  sizes.push_back(size_of(body, "length", Kind::outline, 'x', "the body along x, above its lower two layers"));
  sizes.push_back(size_of(body, "width", Kind::outline, 'y', "the body along y, above its lower two layers"));
  sizes.push_back(size_of(body, "thickness", Kind::height, 0, "the body beside a corner hole, burrs cut off"));
  const double foot = body.from.z_mm;
  const Dimension* thickness = find_dimension(body, "thickness");
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::boss) continue;
    const Dimension* height = find_dimension(f, "height");
    if (!height || f.to.kind != Bound::Kind::flat || !thickness) continue;
    const double made = f.to.z_mm - foot;
    sizes.push_back({f.id, "over all", Kind::height, 0, thickness->nominal_mm + height->nominal_mm, made, made,
                     "tower " + place(f) + ", from the body's lower face to its top"});
  }
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::boss)
      sizes.push_back(size_of(f, "diameter", Kind::boss, 0, "tower " + place(f) + ", across the seam and square to it, the mean of both"));
  for (const Feature& f : part.features)
    if (f.kind == FeatureKind::clearance_hole && (begins(f.id, "hole-") || begins(f.id, "insert-")))
      sizes.push_back(size_of(f, "diameter", Kind::hole, 0, "hole " + place(f) + ", across the seam and square to it, the mean of both"));
  spacing(part, "1", "2", 'x', sizes);
  spacing(part, "3", "4", 'x', sizes);
  spacing(part, "1", "3", 'y', sizes);
  spacing(part, "2", "4", 'y', sizes);
  return sizes;
}

}  // namespace bedwright
