#include "parts/shim.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "base/trig.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "parts/features.h"
#include "parts/loose_part.h"
#include "parts/marks.h"

namespace bedwright {
namespace {

// All common practice, no source: what a fingertip tells apart, and two lines of wall left beside a notch.
constexpr double notch_radius_mm = 0.7;
constexpr double notch_pitch_mm = 2.4;
constexpr double least_wall_mm = 0.8;
constexpr double same_thickness_mm = 1e-4;

struct Form {
  std::string outline;
  double outer = 0;  ///< ring, horseshoe
  Vec2 size{};       ///< rectangle, carriage
  double corner = 0;
  double hole = 0;  ///< 0: none
  std::vector<Vec2> holes;

  bool round() const { return outline == "ring" || outline == "horseshoe"; }
  Loop loop(double added) const {
    return round() ? circle_loop({}, (outer + added) / 2, Facets::inside)
                   : rectangle_loop({}, {size.x + added, size.y + added}, corner);
  }
};

Form form_of(const Kit& kit, const Json& settings) {
  Form form;
  form.outline = settings.at("outline").get<std::string>();
  form.outer = settings.value("outer_mm", 0.0);
  if (settings.contains("size_mm")) form.size = plane_size(settings.at("size_mm"));
  form.corner = settings.value("corner_radius_mm", 2.0);
  form.hole = settings.value("hole_mm", 0.0);
  if (form.hole > 0) form.holes = {{0, 0}};
  if (form.hole > 0 && form.outline == "rectangle" && settings.contains("hole_at_mm"))
    form.holes = {plane_size(settings.at("hole_at_mm"))};
  if (form.outline == "carriage") {
    const CarriageSize& carriage = kit.carriages.size;
    form.size = {carriage.width_mm, carriage.length_mm};
    form.holes = carriage_holes(carriage);
    if (form.hole <= 0) form.hole = clearance_hole_mm(carriage.thread, "medium");
  }
  return form;
}

/// Centres of the notches along the rear edge, or nothing where they do not fit.
std::vector<Vec2> notch_centres(const Form& form, const Loop& made, int count) {
  std::vector<Vec2> centres;
  const PlaneBox box = bounding_box(made);
  const double half = (count - 1) / 2.0;
  if (form.round()) {
    const double radius = box.high.x, step = notch_pitch_mm / radius;
    // The horseshoe opens to the front: its notches stay on the rear half.
    const double most = form.outline == "horseshoe" ? pi : 1.8 * pi;
    if (count * step > most || radius - notch_radius_mm - form.hole / 2 < least_wall_mm) return {};
    for (int i = 0; i < count; ++i) {
      const double angle = pi / 2 - (i - half) * step;
      centres.push_back({radius * cos_rad(angle), radius * sin_rad(angle)});
    }
    return centres;
  }
  const double straight = box.high.x - box.low.x - 2 * form.corner;
  if ((count - 1) * notch_pitch_mm + 2 * notch_radius_mm + 2 * least_wall_mm > straight) return {};
  for (int i = 0; i < count; ++i) {
    const Vec2 at{(i - half) * notch_pitch_mm, box.high.y};
    for (Vec2 hole : form.holes)
      if (length(at - hole) < notch_radius_mm + form.hole / 2 + least_wall_mm) return {};
    centres.push_back(at);
  }
  return centres;
}

void add_notches(const Kit& kit, const Form& form, const Loop& made, double thickness, Part& part) {
  const WholeLayers whole = nearest_whole_layers(thickness, kit.printer);
  const bool nearer_above = whole.above_mm - thickness < thickness - whole.below_mm;
  const int count = whole.layers_below + (nearer_above ? 1 : 0);
  if (count < 1) return;
  const std::vector<Vec2> centres = count <= most_notches ? notch_centres(form, made, count) : std::vector<Vec2>{};
  if (centres.empty()) {
    part.statements.push_back("no notches: " + std::to_string(count) + " layers do not fit its edge as notches");
    return;
  }
  for (std::size_t i = 0; i < centres.size(); ++i) {
    Feature f;
    f.id = "notch-" + std::to_string(i + 1);
    f.kind = FeatureKind::notch;
    f.effect = Effect::cut;
    f.profile = {circle_loop(centres[i], notch_radius_mm, Facets::outside)};
    f.from = f.to = Bound::open();
    f.at = {centres[i].x, centres[i].y, height_at(part.seat, centres[i])};
    part.features.push_back(std::move(f));
  }
  part.statements.push_back(std::to_string(count) + (count == 1 ? " notch" : " notches") + " in the edge: one a layer");
}

void state_layers(const Kit& kit, double thickness, double made, Part& part) {
  const PrinterProfile& printer = kit.printer;
  const WholeLayers whole = nearest_whole_layers(made, printer);
  const std::string measures =
      "first layer " + decimal(printer.first_layer_mm, 3) + " mm, then " + decimal(printer.layer_mm, 3) + " mm each";
  const bool exact = whole.above_mm - whole.below_mm < same_thickness_mm;
  std::string text;
  if (exact)
    text = "prints as " + std::to_string(whole.layers_below) + (whole.layers_below == 1 ? " layer (" : " layers (") +
           measures + ")";
  else if (whole.layers_below > 0)
    text = "not a whole number of layers (" + measures + "): it will come out as " +
           decimal(whole.below_mm - printer.compensation.height_mm, 3) + " or " +
           decimal(whole.above_mm - printer.compensation.height_mm, 3) + " mm";
  else
    text = "thinner than the first layer of " + decimal(printer.first_layer_mm, 3) + " mm";
  if (printer.compensation.height_mm != 0)
    text += "; the file is " + decimal(made, 3) + " mm high so that the print measures " + decimal(thickness, 3);
  part.statements.push_back(text);
}

}  // namespace

WholeLayers nearest_whole_layers(double thickness_mm, const PrinterProfile& printer) {
  const double above_first = (thickness_mm - printer.first_layer_mm) / printer.layer_mm;
  const double nearest = std::round(above_first);
  if (nearest >= 0 && std::fabs(above_first - nearest) * printer.layer_mm < same_thickness_mm)
    return {thickness_mm, thickness_mm, 1 + static_cast<int>(nearest)};
  if (above_first < 0) return {0, printer.first_layer_mm, 0};
  const double below = std::floor(above_first);
  const double low = printer.first_layer_mm + below * printer.layer_mm;
  return {low, low + printer.layer_mm, 1 + static_cast<int>(below)};
}

std::vector<Part> derive_shims(const Kit& kit, const Layout&, const PartRequest& request) {
  const Json& settings = request.settings;
  const Compensation& compensation = kit.printer.compensation;
  const Form form = form_of(kit, settings);
  const double thickness = settings.at("thickness_mm").get<double>();
  const double made_thickness = thickness + compensation.height_mm;
  const double taper = settings.value("taper_um_per_mm", 0.0) / 1000;
  const double toward = settings.value("taper_toward_deg", 0.0) * rad_per_deg;
  const Loop drawn = form.loop(0), made = form.loop(compensation.outline_mm);

  Part part = loose_part(kit, request);
  part.seat.height = made_thickness;
  if (taper != 0) part.seat.slope = {taper * cos_rad(toward), taper * sin_rad(toward)};
  const Bound top = taper != 0 ? Bound::at_seat() : Bound::at(made_thickness);
  part.features.push_back(outline(drawn, made, Bound::at(0), top, 0, part.chord_mm));
  // Notches and a horseshoe's opening take away from a round shim's extents, not from its diameter.
  if (form.round())
    part.features.front().dimensions = {
        dimension("diameter", form.outer, form.outer + compensation.outline_mm, diameter_tolerance_mm)};
  if (taper != 0) {
    const double least = heights_over(part.seat, {made}).least;
    if (least < kit.printer.first_layer_mm)
      throw CannotBuild("shim-too-thin",
                        request.id + " tapers down to " + decimal(std::max(least, 0.0), 3) +
                            " mm; the first layer alone is " + decimal(kit.printer.first_layer_mm, 3) + " mm",
                        "make thickness_mm at least " +
                            decimal(thickness + kit.printer.first_layer_mm - least + 0.005, 2) + ", or the taper less",
                        {"outline"});
    part.features.push_back(seat_of_height(part.seat, made, least - compensation.height_mm, part.chord_mm));
  } else {
    part.features.front().dimensions.push_back(dimension("thickness", thickness, made_thickness, height_tolerance_mm));
  }
  for (std::size_t i = 0; i < form.holes.size() && form.hole > 0; ++i) {
    const std::string id = form.holes.size() > 1 ? "hole-" + std::to_string(i + 1) : "hole";
    const double open = height_at(part.seat, form.holes[i]);
    if (form.outline == "horseshoe") {
      // From the screw's place out through the front edge.
      Feature f = clearance_slot(id, {0, -form.outer / 2}, form.hole, form.outer, {0, 1}, Bound::open(), Bound::open(),
                                 open, compensation);
      f.kind = FeatureKind::notch;
      f.dimensions = {dimension("width", form.hole, form.hole + compensation.hole_mm, height_tolerance_mm)};
      part.features.push_back(std::move(f));
    } else {
      part.features.push_back(
          clearance_hole(id, form.holes[i], form.hole, Bound::open(), Bound::open(), open, compensation));
    }
  }
  if (settings.value("notches", true)) add_notches(kit, form, made, made_thickness, part);
  state_layers(kit, thickness, made_thickness, part);
  return {part};
}

void mark_shim(const Kit& kit, const Layout& layout, const PartRequest& request, Part& part) {
  const double thickness = request.settings.at("thickness_mm").get<double>();
  // What counts is how thick a tapered shim is at its screw.
  const Form form = form_of(kit, request.settings);
  const double at_hole = form.holes.size() == 1 ? thickness + dot(part.seat.slope, form.holes[0]) : thickness;
  const double layer = kit.printer.layer_mm;
  const double depth = std::min(mark_depth_mm, thickness / 2);
  MarkWish wish;
  wish.words = {decimal(at_hole, 2)};
  if (request.settings.contains("label"))
    for (const Json& word : request.settings.at("label")) wish.words.push_back(word.get<std::string>());
  // A wedge has a way round.
  if (!(part.seat.slope == Vec2{})) wish.arrow = true_arrow(layout, part);
  if (depth < layer - same_thickness_mm) {
    if (wish.words.size() == 1) return;
    std::string words;
    for (const std::string& word : wish.words) words += (words.empty() || words.back() == '-' ? "" : " ") + word;
    part.statements.push_back("too thin to engrave: write \"" + words + "\" on it");
    return;
  }
  wish.depth_mm = std::floor(depth / layer + 1e-9) * layer;
  engrave(part, wish, "upper face");
}

}  // namespace bedwright
