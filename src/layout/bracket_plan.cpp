#include "layout/bracket_plan.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "base/error.h"
#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/base_profile.h"

namespace bedwright {
namespace {

constexpr double poisson = 0.35;      // of printing plastics, middle of handbook values
constexpr double shear_share = 1.2;   // of a rectangle: the mean shear times this; strength-of-materials texts
constexpr double beside_pad_mm = 6;   // body beyond the pads; common practice, no source
constexpr double beyond_rail_mm = 3;  // body beyond the rail's end where it does not overhang
constexpr double usual_stiffness_n_mm = 2000;
constexpr double least_height_mm = 4, greatest_height_mm = 80;
constexpr double least_bearing_mm = 4;  // of a rail on a pad
constexpr double slot_wall_mm = 1.5;    // round a screw's slot on the pad
constexpr double same_mm = 1e-9;

CannotBuild refuse(const char* code, const PartRequest& request, const std::string& what, const std::string& cure) {
  return CannotBuild(code, request.id + ": " + what, cure, {"outline"});
}

/// Y of the base's outermost point between two x; nothing where no base is.
std::optional<double> base_end(const std::vector<Vec2>& outline, double left, double right, bool front) {
  std::optional<double> end;
  const auto take = [&](double y) {
    if (!end || (front ? y < *end : y > *end)) end = y;
  };
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Vec2 a = outline[i], b = outline[(i + 1) % outline.size()];
    if (a.x >= left && a.x <= right) take(a.y);
    for (const double x : {left, right})
      if ((a.x <= x) != (b.x <= x)) take(a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
  }
  return end;
}

double modulus_mpa(const Kit& kit, const PartRequest& request) {
  const Material* material = find_material(request.settings.value("material", kit.printer.material));
  return material ? 1000 * material->modulus_gpa : 0;
}

double whole_layers(double mm, const PrinterProfile& printer) {
  const double layers = std::ceil((mm - printer.first_layer_mm) / printer.layer_mm - 1e-6);
  return rounded_length(printer.first_layer_mm + std::max(0.0, layers) * printer.layer_mm);
}

struct Drafter {
  const Kit& kit;
  const Layout& layout;
  const PartRequest& request;
  const Json& s = request.settings;
  BracketPlan plan{};

  double value(const char* key) const { return s.at(key).get<double>(); }

  void place() {
    plan.front = s.at("end") == "front";
    if (!kit.base)
      throw refuse("bracket-no-base", request, "the kit does not say where the base ends",
                   "write base.outline_mm, or base.pieces as `bedwright contour --json` prints them");
    const double pad = value("pad_width_mm"), half = kit.rails.pitch_mm / 2;
    const double width = s.value("width_mm", 2 * half + pad + 2 * beside_pad_mm);
    plan.left_mm = -width / 2;
    plan.right_mm = width / 2;
    if (width < 2 * half + pad - same_mm)
      throw refuse("bracket-nothing-to-carry", request,
                   "width_mm " + decimal(width, 1) + " leaves the pads under the rails out",
                   "make it at least " + decimal(2 * half + pad, 1) + ", or leave it out");
    const std::optional<double> end = base_end(kit.base->outline_mm, plan.left_mm, plan.right_mm, plan.front);
    if (!end)
      throw refuse("bracket-no-base", request, "nothing of the base lies between its two ends in X",
                   "look at base.outline_mm: its X counts from the middle between the rails");
    plan.base_end_mm = *end;
    const double rail_end = plan.outward() * kit.rails.length_mm / 2, over = value("overhang_mm");
    plan.outer_mm = over > 0 ? rail_end - plan.outward() * over : rail_end + plan.outward() * beyond_rail_mm;
    if (plan.outward() * (plan.outer_mm - plan.base_end_mm) < least_bearing_mm)
      throw refuse("bracket-nothing-to-carry", request,
                   "the rails end at y = " + decimal(rail_end, 1) + ", the base at y = " + decimal(plan.base_end_mm, 1) +
                       (over > 0 ? ", and " + decimal(over, 1) + " mm are to run free" : std::string()) +
                       ": nothing is left to carry",
                   over > 0 ? "make overhang_mm smaller, or leave this bracket out" : "leave this bracket out");
    // Each face of the material lies half of the outline's compensation further out.
    const double clearance = value("clearance_mm") - kit.printer.compensation.outline_mm / 2;
    try {
      plan.inner = clearance > 0 ? grown(kit.base->outline, clearance) : kit.base->outline;
    } catch (const Error&) {
      throw refuse("bracket-outline", request,
                   "the base's outline cannot be followed " + decimal(value("clearance_mm"), 2) + " mm off",
                   "look at base.outline_mm for corners that are out of order, or make clearance_mm smaller");
    }
    plan.inner.facets = Facets::outside;
    plan.inner_mm = plan.base_end_mm - plan.outward() * value("reach_mm");
  }

  void lay_pads() {
    const double rail_end = plan.outward() * kit.rails.length_mm / 2;
    for (std::size_t i = 0; i < 2; ++i) {
      BracketPad& pad = plan.pads[i];
      pad.x_mm = (i == 0 ? -0.5 : 0.5) * kit.rails.pitch_mm;
      // The rail bears on the base as far as that reaches under its whole width.
      const std::vector<Span> backed = backed_spans(*kit.base, pad.x_mm, kit.rails.size.width_mm / 2);
      if (backed.empty())
        throw refuse("bracket-no-base", request, "no base lies under the rail at x = " + decimal(pad.x_mm, 1),
                     "look at base.outline_mm");
      const double edge = plan.front ? backed.front().from : backed.back().to;
      const double start = edge + plan.outward() * value("clearance_mm");
      const double end = plan.front ? std::max(rail_end, plan.outer_mm) : std::min(rail_end, plan.outer_mm);
      if (plan.outward() * (end - start) < least_bearing_mm)
        throw refuse("bracket-nothing-to-carry", request,
                     "the " + std::string(i == 0 ? "left" : "right") + " rail would bear on it over " +
                         decimal(std::max(0.0, plan.outward() * (end - start)), 1) + " mm only",
                     "make overhang_mm smaller, or leave this bracket out");
      pad.from_mm = std::min(start, end);
      pad.to_mm = std::max(start, end);
      pad.lever_mm = std::fabs((start + end) / 2 - edge);
      const double room = std::min(pad.x_mm - plan.left_mm, plan.right_mm - pad.x_mm);
      const double half = value("pad_width_mm") / 2 + pad.lever_mm;
      pad.width_mm = half + std::min(half, room);
      // The slot, and a rail's counterbore above it, need room to both ends.
      const double wall = kit.rails.size.hole_mm / 2 + slot_wall_mm;
      for (int k = 0; k < layout.rail_holes; ++k) {
        const double y =
            -kit.rails.length_mm / 2 + layout.rail_first_hole_mm + k * kit.rails.size.hole_pitch_mm;
        if (y - wall >= pad.from_mm && y + wall <= pad.to_mm) pad.screws_y_mm.push_back(y);
      }
    }
  }

  double softest(double height) const {
    double least = 1e300;
    for (const BracketPad& pad : plan.pads)
      least = std::min(least, pad_stiffness_n_mm(modulus_mpa(kit, request), pad.lever_mm, pad.width_mm, height));
    return least;
  }

  void set_height() {
    plan.pad_height_mm = value("pad_height_mm") > 0 ? whole_layers(value("pad_height_mm"), kit.printer) : 0;
    const bool given = s.contains("height_mm"), wanted = s.contains("stiffness_n_per_mm");
    plan.wanted_n_mm = wanted ? value("stiffness_n_per_mm") : given ? 0 : usual_stiffness_n_mm;
    plan.height_mm = whole_layers(given ? value("height_mm") : least_height_mm, kit.printer);
    while (!given && softest(plan.height_mm) < plan.wanted_n_mm && plan.height_mm < greatest_height_mm)
      plan.height_mm = rounded_length(plan.height_mm + kit.printer.layer_mm);
    if (softest(plan.height_mm) < plan.wanted_n_mm) {
      double enough = plan.height_mm;
      while (softest(enough) < plan.wanted_n_mm && enough < 1000) enough += kit.printer.layer_mm;
      throw refuse("bracket-soft", request,
                   "at " + decimal(plan.height_mm, 1) + " mm high it gives like a spring of " +
                       decimal(softest(plan.height_mm), 0) + " N/mm under a rail; " + decimal(plan.wanted_n_mm, 0) +
                       " are wanted",
                   given ? "make height_mm " + decimal(std::ceil(enough), 0) + ", or leave it out"
                         : "a stiffer material, shorter rails, or less stiffness_n_per_mm");
    }
    for (BracketPad& pad : plan.pads)
      pad.stiffness_n_mm =
          pad_stiffness_n_mm(modulus_mpa(kit, request), pad.lever_mm, pad.width_mm, plan.height_mm);
    plan.low_mm = -kit.carriages.size.assembly_height_mm - plan.pad_height_mm - plan.height_mm;
  }
};

}  // namespace

double pad_stiffness_n_mm(double modulus_mpa, double lever_mm, double width_mm, double height_mm) {
  const double moment = width_mm * height_mm * height_mm * height_mm / 12, shear = modulus_mpa / (2 * (1 + poisson));
  return 1 / (lever_mm * lever_mm * lever_mm / (3 * modulus_mpa * moment) +
              shear_share * lever_mm / (shear * width_mm * height_mm));
}

BracketPlan bracket_plan(const Kit& kit, const Layout& layout, const PartRequest& request) {
  Drafter drafter{kit, layout, request};
  drafter.place();
  drafter.lay_pads();
  drafter.set_height();
  return drafter.plan;
}

std::vector<RailPad> rail_pads(const Kit& kit, const Layout& layout, double x) {
  std::vector<RailPad> pads = kit.rails.pads;
  for (const PartRequest& request : kit.parts) {
    if (request.family != "end_bracket") continue;
    try {
      for (const BracketPad& p : bracket_plan(kit, layout, request).pads)
        if (std::fabs(p.x_mm - x) < same_mm) pads.push_back({p.from_mm, p.to_mm, p.stiffness_n_mm});
    } catch (const CannotBuild&) {
      continue;  // said where the part is made
    }
  }
  return pads;
}

int screws_in_base(const Kit& kit, const Layout& layout) {
  int count = 2 * layout.rail_holes;
  for (const PartRequest& request : kit.parts) {
    if (request.family != "end_bracket") continue;
    try {
      for (const BracketPad& p : bracket_plan(kit, layout, request).pads)
        count -= static_cast<int>(p.screws_y_mm.size());
    } catch (const CannotBuild&) {
      continue;
    }
  }
  return count;
}

}  // namespace bedwright
