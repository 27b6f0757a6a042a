#include "parts/gauge_body.h"

#include <algorithm>

#include "parts/features.h"
#include "parts/loose_part.h"
#include "parts/marks.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

constexpr double corner_mm = 3;     // rounded, so that it lifts less off the print bed; common practice, no source
constexpr double chamfer_mm = 0.4;  // against first-layer flare

}  // namespace

Part flat_body(const Kit& kit, const PartRequest& request, const Loop& drawn, const Loop& made, double thickness_mm,
               LowerEdge edge) {
  const double made_thickness = thickness_mm + kit.printer.compensation.height_mm;
  const double chamfer = edge == LowerEdge::sharp ? 0 : std::min(chamfer_mm, made_thickness / 3);
  Part part = loose_part(kit, request);
  part.seat.height = made_thickness;
  part.features.push_back(outline(drawn, made, Bound::at(0), Bound::at(made_thickness), chamfer, part.chord_mm));
  part.features.front().dimensions.push_back(dimension("thickness", thickness_mm, made_thickness, height_tolerance_mm));
  return part;
}

Part flat_bar(const Kit& kit, const PartRequest& request, Vec2 size_mm, double thickness_mm, LowerEdge edge) {
  const double grown = kit.printer.compensation.outline_mm;
  return flat_body(kit, request, rectangle_loop({}, size_mm, corner_mm),
                   rectangle_loop({}, {size_mm.x + grown, size_mm.y + grown}, corner_mm), thickness_mm, edge);
}

void mark_workshop_gauge(const Kit& kit, const Layout&, const PartRequest&, Part& part) {
  MarkWish wish;
  wish.words = words_of_id(part.id);
  wish.words.push_back(kit.revision);
  engrave(part, wish, "upper face");
}

}  // namespace bedwright
