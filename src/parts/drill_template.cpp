#include <algorithm>

#include "base/numbers.h"
#include "parts/features.h"
#include "parts/gauge_body.h"
#include "parts/workshop_gauges.h"

namespace bedwright {
namespace {

constexpr double margin_mm = 8, bar_width_mm = 3, clear_mm = 3;

struct Bar {
  const char* id;
  double length;
  Vec2 along;
};
constexpr Bar bars[] = {
    {"check-100-x", 100, {1, 0}}, {"check-50-x", 50, {1, 0}}, {"check-100-y", 100, {0, 1}}, {"check-50-y", 50, {0, 1}}};

struct Rectangle {
  Vec2 low, high;
};

bool overlap(const Rectangle& a, const Rectangle& b, double gap) {
  return a.low.x < b.high.x + gap && b.low.x < a.high.x + gap && a.low.y < b.high.y + gap && b.low.y < a.high.y + gap;
}

Rectangle place_of(const Bar& bar, Vec2 at) {
  const Vec2 half = bar.along.x != 0 ? Vec2{bar.length / 2, bar_width_mm / 2} : Vec2{bar_width_mm / 2, bar.length / 2};
  return {at - half, at + half};
}

}  // namespace

std::vector<Part> derive_drill_template(const Kit& kit, const Layout&, const PartRequest& request) {
  const Json& settings = request.settings;
  const std::vector<FrameHole>& pattern = settings.at("pattern") == "mounts" ? kit.frame.mounts : kit.frame.holes;
  const double pilot = settings.at("pilot_mm").get<double>();
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  for (const FrameHole& hole : pattern) {
    low = {std::min(low.x, hole.at_mm.x), std::min(low.y, hole.at_mm.y)};
    high = {std::max(high.x, hole.at_mm.x), std::max(high.y, hole.at_mm.y)};
  }
  if (pattern.empty()) low = high = {};
  const Vec2 middle = 0.5 * (low + high);
  const Vec2 size{high.x - low.x + 2 * margin_mm, high.y - low.y + 2 * margin_mm};
  Part part = flat_bar(kit, request, size, settings.at("thickness_mm").get<double>());
  const double top = part.seat.height;
  std::vector<Rectangle> taken;
  for (const FrameHole& hole : pattern) {
    const Vec2 at = hole.at_mm - middle, half{pilot / 2, pilot / 2};
    part.features.push_back(
        clearance_hole("pilot-" + hole.id, at, pilot, Bound::open(), Bound::open(), top, kit.printer.compensation));
    taken.push_back({at - half, at + half});
  }
  // The drilled plate is the product: room is looked for from the middle outwards, across each bar's own direction.
  for (const Bar& bar : bars) {
    const double reach = (bar.along.x != 0 ? size.y : size.x) / 2;
    bool done = false;
    for (double away = 0; !done && away < reach; away += 1)
      for (const double side : {-1.0, 1.0}) {
        const Vec2 at = bar.along.x != 0 ? Vec2{0, side * away} : Vec2{side * away, 0};
        const Rectangle place = place_of(bar, at);
        const bool inside = place.low.x > -size.x / 2 + clear_mm && place.high.x < size.x / 2 - clear_mm &&
                            place.low.y > -size.y / 2 + clear_mm && place.high.y < size.y / 2 - clear_mm;
        if (!inside || std::any_of(taken.begin(), taken.end(),
                                   [&](const Rectangle& other) { return overlap(place, other, clear_mm); }))
          continue;
        part.features.push_back(clearance_slot(bar.id, at, bar_width_mm, bar.length - bar_width_mm, bar.along,
                                               Bound::open(), Bound::open(), top, kit.printer.compensation));
        taken.push_back(place);
        done = true;
        break;
      }
    if (!done) part.statements.push_back(std::string("no room for ") + bar.id);
  }
  part.statements.push_back(
      "before drilling, measure the long openings end to end: 100 and 50 mm, both ways; off by more "
      "than 0.2 mm, the printer's scale is wrong and the template too");
  return {part};
}

}  // namespace bedwright
