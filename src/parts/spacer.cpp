#include "parts/spacer.h"

#include <algorithm>

#include "base/error.h"
#include "base/numbers.h"
#include "layout/heights.h"
#include "parts/features.h"
#include "parts/loose_part.h"
#include "parts/marks.h"

namespace bedwright {
namespace {

Loop spacer_outline(const Json& settings, double added_mm) {
  if (settings.at("shape") == "round")
    return circle_loop({}, (settings.at("outer_mm").get<double>() + added_mm) / 2, Facets::inside);
  const Vec2 size = plane_size(settings.at("size_mm"));
  return rectangle_loop({}, {size.x + added_mm, size.y + added_mm}, settings.at("corner_radius_mm").get<double>());
}

std::vector<FrameHole> holes_of(const Json& settings) {
  std::vector<FrameHole> holes;
  if (settings.contains("hole_mm")) holes.push_back({"hole", {}, settings.at("hole_mm").get<double>()});
  if (settings.contains("holes"))
    for (const Json& hole : settings.at("holes"))
      holes.push_back({"hole-" + std::to_string(holes.size() + 1), plane_size(hole.at("at_mm")),
                       hole.at("diameter_mm").get<double>()});
  return holes;
}

Part spacer_at(const Kit& kit, const Layout& layout, const PartRequest& request, const Surface* underside) {
  const Json& settings = request.settings;
  const Compensation& compensation = kit.printer.compensation;
  const double thickness = spacer_thickness_mm(layout, request);
  const double made_thickness = thickness + compensation.height_mm;
  const Loop drawn = spacer_outline(settings, 0), made = spacer_outline(settings, compensation.outline_mm);
  Part part = loose_part(kit, request);
  part.seat.height = made_thickness;
  if (layout.set_thickness_mm.count(request.id) > 0)
    part.statements.push_back("thickness " + decimal(thickness, 2) + " mm follows from the bed height wanted, " +
                              decimal(*kit.bed->height_mm, 2) + " mm; thickness_mm " +
                              decimal(settings.at("thickness_mm").get<double>(), 2) + " is not used");
  // A chamfer may take up to a third of the height; a thin spacer keeps an upright edge.
  const double chamfer = std::min(settings.at("bottom_chamfer_mm").get<double>(), made_thickness / 3);
  const Bound top = underside ? Bound::at_seat() : Bound::at(made_thickness);
  part.features.push_back(outline(drawn, made, Bound::at(0), top, chamfer, part.chord_mm));
  if (underside) {
    part.seat = *underside;
    part.seat.height += made_thickness - heights_over(*underside, {made}).least;
    part.features.push_back(seat_of_height(part.seat, made, thickness, part.chord_mm));
  } else {
    part.features.front().dimensions.push_back(
        dimension("thickness", thickness, made_thickness, height_tolerance_mm));
  }
  for (const FrameHole& hole : holes_of(settings))
    part.features.push_back(clearance_hole(hole.id, hole.at_mm, hole.diameter_mm, Bound::open(), Bound::open(),
                                           height_at(part.seat, hole.at_mm), compensation));
  return part;
}

}  // namespace

std::vector<Part> derive_spacers(const Kit& kit, const Layout& layout, const PartRequest& request) {
  if (request.settings.at("seat") == "flat") return {spacer_at(kit, layout, request, nullptr)};
  std::vector<Part> parts;
  for (const Placement& placement : layout.placements) {
    const auto& wanted = request.placements;
    if (std::find(wanted.begin(), wanted.end(), placement.id) == wanted.end()) continue;
    const Surface seen = transformed(layout.underside, shift({-placement.at.x, -placement.at.y, 0}));
    parts.push_back(spacer_at(kit, layout, request, &seen));
    parts.back().placements = {placement.id};
  }
  return parts;
}

void mark_spacer(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part) {
  MarkWish wish;
  wish.words = words_of_id(part.id);
  wish.words.push_back(kit.revision);
  const bool follows = request.settings.at("seat") == "frame";
  if (follows) {
    wish.words.push_back("UP");
    wish.arrow = true_arrow(layout, part);
    if (!wish.arrow) part.statements.push_back(why_no_arrow(part));
  }
  wish.depth_mm = std::min(mark_depth_mm, spacer_thickness_mm(layout, request) / 3);
  engrave(part, wish, follows ? "seat (up)" : "upper face");
}

}  // namespace bedwright
