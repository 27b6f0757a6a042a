#include "print/print_findings.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "layout/plate_outline.h"
#include "layout/plate_settings.h"
#include "print/staircase.h"

namespace bedwright {
namespace {

// Higher than this many times the narrow side of what stands on the bed, a print is easily knocked over; common
// practice, no source.
constexpr double tall_share = 6;
// A pose by the kit that hangs over by this much more than the best is pointed out.
constexpr double much_more_mm2 = 100;
// Layer heights that people set, mm.
constexpr double usual_layers_mm[] = {0.3, 0.28, 0.25, 0.24, 0.2, 0.16, 0.15, 0.12, 0.1, 0.08, 0.06, 0.05, 0.04};
constexpr double mark_chord_mm = 0.01;  // letters have straight edges; an arrow too

std::string mm(double value, int decimals = 3) {
  return decimal(value, decimals) + " mm";
}

/// Steps on pads instead of the full seat, lying as installed; negative where the part can have none.
double on_pads(const Kit& kit, const Layout& layout, const Part& part, const Pose& pose, Layering layering) {
  if (part.family != "adapter_plate" || part.placements.empty() || part.settings.value("seat", "") != "full") return -1;
  const auto request = std::find_if(kit.parts.begin(), kit.parts.end(),
                                    [&](const PartRequest& r) { return r.settings == part.settings; });
  const auto placement = std::find_if(layout.placements.begin(), layout.placements.end(),
                                      [&](const Placement& p) { return p.id == part.placements[0]; });
  if (request == kit.parts.end() || placement == layout.placements.end()) return -1;
  PlateSettings settings = plate_settings(kit, *request);
  if (settings.boss_up) return -1;
  settings.pads = true;
  const Transform& lying = pose.tried[0].print_to_part;
  return pads_staircase_mm(part, pad_centres(kit.carriages.size, *placement, settings), settings.pad_diameter_mm,
                           -lying.m[11], layering);
}

std::string cures(const Kit& kit, const Layout& layout, const Part& part, const Mesh& solid, const Pose& pose) {
  const double allowed = kit.printer.wishes.seat_step_mm;
  const Layering now{kit.printer.first_layer_mm, kit.printer.layer_mm};
  std::vector<std::string> ways;
  const double pads = on_pads(kit, layout, part, pose, now);
  if (pads >= 0 && pads < pose.staircase_mm)
    ways.push_back("seat: pads (steps of " + mm(pads) + (pose.way == Way::as_installed ? "" : ", lying as installed") +
                   ")");
  const Weighed* other = nullptr;
  for (const Weighed& w : pose.tried)
    if (w.way != pose.way && w.fits && w.stands && w.exact && w.staircase_mm < pose.staircase_mm &&
        (!other || w.cost < other->cost))
      other = &w;
  if (other)
    ways.push_back(std::string("pose: ") + to_text(other->way) + " (steps of " + mm(other->staircase_mm) + "; " +
                   mm(other->height_mm, 1) + " high, " + decimal(other->overhang_mm2, 0) + " mm2 hang over)");
  const std::vector<std::uint32_t> seat = seat_facets(part, solid);
  for (const double layer : usual_layers_mm) {
    if (layer >= now.layer_mm) continue;
    const double steps = staircase_mm(solid, seat, inverse(pose.print_to_part), {now.first_mm, layer});
    if (steps > allowed) continue;
    ways.push_back("layer_mm " + decimal(layer, 2) + " (steps of " + mm(steps) + ")");
    break;
  }
  std::string text;
  for (std::size_t i = 0; i < ways.size(); ++i) text += (i == 0 ? "" : i + 1 == ways.size() ? ", or " : ", ") + ways[i];
  return text.empty() ? "shape the seat with a file or sandpaper over the frame, and check the seat again" : text;
}

void staircase(const Kit& kit, const Layout& layout, const Part& part, const Mesh& solid, const Pose& pose,
               std::vector<Finding>& findings) {
  const double allowed = kit.printer.wishes.seat_step_mm;
  if (pose.staircase_mm <= allowed) return;
  findings.push_back({"staircase", Severity::warning, part.id, "seat",
                      part.id + "'s seat comes out in steps: " + mm(pose.staircase_mm) +
                          " from lowest to highest, against " + mm(allowed) + " allowed",
                      pose.staircase_mm, allowed, "mm", cures(kit, layout, part, solid, pose)});
}

void tall(const Part& part, const Pose& pose, std::vector<Finding>& findings) {
  if (pose.contact_width_mm <= 0) return;
  const double share = pose.height_mm / pose.contact_width_mm;
  if (share <= tall_share) return;
  findings.push_back({"tall-thin", Severity::warning, part.id, "",
                      part.id + " is " + mm(pose.height_mm, 1) + " high on a foot only " +
                          mm(pose.contact_width_mm, 1) + " wide: easily knocked over while it is printed",
                      share, tall_share, "", "print it with a brim of 5 mm and slowly, or choose another pose"});
}

double perimeter(const std::vector<Vec2>& points) {
  double sum = 0;
  for (std::size_t i = 0; i < points.size(); ++i) sum += length(points[(i + 1) % points.size()] - points[i]);
  return sum;
}

/// Mean width of a mark's strokes: twice its area over its outline's length.
double stroke_mm(const Feature& mark) {
  double around = 0, covered = 0;
  for (std::size_t i = 0; i < mark.profile.size(); ++i) {
    const std::vector<Vec2> points = polygonised(mark.profile[i], mark_chord_mm);
    around += perimeter(points);
    // Even-odd: what lies in an odd number of others is a counter.
    int outer = 0;
    for (std::size_t j = 0; j < mark.profile.size(); ++j)
      outer += j != i && contains(mark.profile[j], points[0]) ? 1 : 0;
    covered += (outer % 2 ? -1 : 1) * area(mark.profile[i]);
  }
  return around > 0 ? 2 * covered / around : 0;
}

void marks(const Kit& kit, const Part& part, std::vector<Finding>& findings) {
  for (const Feature& f : part.features) {
    if (f.kind != FeatureKind::mark || f.profile.empty()) continue;
    const double stroke = stroke_mm(f);
    if (stroke >= kit.printer.line_mm) continue;
    findings.push_back({"mark-fine", Severity::warning, part.id, f.id,
                        "the strokes of " + f.id + " are " + mm(stroke, 2) + " wide, less than a printed line of " +
                            mm(kit.printer.line_mm, 2) + ": it may not be legible",
                        stroke, kit.printer.line_mm, "mm",
                        "write it on with a pen, or use a finer nozzle (/printer/line_mm)"});
    return;
  }
}

double width_of(const Loop& loop) {
  if (loop.circle) return 2 * loop.radius;
  const PlaneBox box = bounding_box(loop);
  return std::min(box.high.x - box.low.x, box.high.y - box.low.y);
}

/// Strands on both sides of a gap flow together where it is narrower than one of them.
void gaps(const Kit& kit, const Part& part, std::vector<Finding>& findings) {
  const double line = kit.printer.line_mm;
  const auto tell = [&](const std::string& id, const std::string& what, double width) {
    findings.push_back({"narrow-gap", Severity::warning, part.id, id,
                        what + " is " + mm(width, 2) + " wide, less than a printed line of " + mm(line, 2) +
                            ": it closes up",
                        width, line, "mm", "make it wider, or use a finer nozzle (/printer/line_mm)"});
  };
  std::vector<const Feature*> standing;
  for (const Feature& f : part.features) {
    if (f.kind == FeatureKind::mark || f.kind == FeatureKind::outline || f.profile.size() != 1) continue;
    if (f.effect == Effect::cut) {
      const double width = width_of(f.profile[0]);
      if (width < line) tell(f.id, f.id, width);
    }
    if (f.effect == Effect::add) standing.push_back(&f);
  }
  for (std::size_t i = 0; i < standing.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      const Loop &a = standing[i]->profile[0], &b = standing[j]->profile[0];
      const std::vector<Vec2> edge = polygonised(a, mark_chord_mm);
      double apart = 1e300;
      for (Vec2 p : edge) apart = std::min(apart, contains(b, p) ? 0.0 : distance(b, p));
      if (apart > 0 && apart < line)
        tell(standing[i]->id, "the gap between " + standing[j]->id + " and " + standing[i]->id, apart);
    }
}

/// What a coupon of another material or nozzle said is a guess about this part.
void calibrated_otherwise(const Kit& kit, const Part& part, std::vector<Finding>& findings) {
  const PrinterProfile& printer = kit.printer;
  const Compensation& c = printer.compensation;
  if (!printer.calibrated || (c.hole_mm == 0 && c.outline_mm == 0 && c.height_mm == 0)) return;
  const bool material = printer.calibrated->material != part.material;
  const bool nozzle = printer.calibrated->nozzle_mm && printer.nozzle_mm &&
                      *printer.calibrated->nozzle_mm != *printer.nozzle_mm;
  if (!material && !nozzle) return;
  findings.push_back({"calibrated-otherwise", Severity::warning, part.id, "",
                      "the compensation in " + part.id + " comes from a coupon " +
                          (material ? "of " + printer.calibrated->material + "; the part is of " + part.material
                                    : "of another nozzle"),
                      0, 0, "", "print a coupon as the part is printed, and calibrate"});
}

void by_kit(const Part& part, const Pose& pose, std::vector<Finding>& findings) {
  if (!pose.by_kit) return;
  const Weighed* best = nullptr;
  for (const Weighed& w : pose.tried)
    if (w.fits && w.exact && (w.stands || w.way == Way::as_installed) && (!best || w.cost < best->cost)) best = &w;
  if (!best || best->way == pose.way || pose.cost <= best->cost + much_more_mm2) return;
  findings.push_back({"pose-costly", Severity::warning, part.id, "",
                      part.id + " is laid " + to_text(pose.way) +
                          " because the kit says so: " + decimal(pose.overhang_mm2, 0) + " mm2 hang over and " +
                          decimal(pose.support_mm3 / 1000, 1) + " cm3 of support are needed; " + to_text(best->way) +
                          " has " + decimal(best->overhang_mm2, 0) + " and " + decimal(best->support_mm3 / 1000, 1),
                      pose.cost, best->cost, "", std::string("leave pose out, or set it to ") + to_text(best->way)});
}

}  // namespace

std::vector<Finding> print_findings(const Kit& kit, const Layout& layout, const Part& part, const Mesh& solid,
                                    const Pose& pose) {
  std::vector<Finding> findings;
  staircase(kit, layout, part, solid, pose, findings);
  tall(part, pose, findings);
  by_kit(part, pose, findings);
  marks(kit, part, findings);
  gaps(kit, part, findings);
  calibrated_otherwise(kit, part, findings);
  return findings;
}

}  // namespace bedwright
