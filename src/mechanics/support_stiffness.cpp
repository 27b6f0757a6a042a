#include "mechanics/support_stiffness.h"

#include <algorithm>
#include <cmath>

#include "base/numbers.h"
#include "kit/hardware.h"
#include "layout/plate_outline.h"
#include "mechanics/constants.h"
#include "mechanics/motion.h"

namespace bedwright {
namespace {

constexpr double cell_mm = 30;  // between the lines that ribs and windows force
constexpr double least_cell_mm = 0.5;
constexpr double sheet_margin_mm = 6;
constexpr double sheet_cell_mm = 28;

/// Sorted, closer ones merged, wider gaps divided.
std::vector<double> grid_lines(std::vector<double> at, double low, double high, double widest) {
  at.push_back(low);
  at.push_back(high);
  std::sort(at.begin(), at.end());
  std::vector<double> lines;
  for (const double v : at)
    if (v >= low && v <= high && (lines.empty() || v - lines.back() > least_cell_mm)) lines.push_back(v);
  // The rim itself must stay where it is.
  if (lines.back() < high) {
    if (lines.size() > 1) lines.pop_back();
    lines.push_back(high);
  }
  std::vector<double> out{lines.front()};
  for (std::size_t i = 1; i < lines.size(); ++i) {
    const int pieces = std::max(1, static_cast<int>(std::ceil((lines[i] - lines[i - 1]) / widest - 1e-9)));
    for (int k = 1; k <= pieces; ++k)
      out.push_back(k == pieces ? lines[i] : lines[i - 1] + (lines[i] - lines[i - 1]) * k / pieces);
  }
  return out;
}

double flat_z(const Bound& bound, const Part& part, double open) {
  return bound.kind == Bound::Kind::flat ? bound.z_mm : bound.kind == Bound::Kind::seat ? part.seat.height : open;
}

/// Material over a point as intervals of z, features in their order.
std::vector<std::pair<double, double>> column_at(const Part& part, Vec2 at) {
  std::vector<std::pair<double, double>> solid;
  for (const Feature& f : part.features) {
    if (f.effect == Effect::none) continue;
    const auto covering =
        std::count_if(f.profile.begin(), f.profile.end(), [&](const Loop& l) { return contains(l, at); });
    if (covering % 2 == 0) continue;
    const double low = flat_z(f.from, part, -1e6), high = flat_z(f.to, part, 1e6);
    std::vector<std::pair<double, double>> next;
    for (const auto& s : solid) {
      if (f.effect == Effect::add) {
        next.push_back(s);
        continue;
      }
      if (s.first < low) next.push_back({s.first, std::min(s.second, low)});
      if (s.second > high) next.push_back({std::max(s.first, high), s.second});
    }
    if (f.effect == Effect::add) {
      next.push_back({low, high});
      std::sort(next.begin(), next.end());
      std::vector<std::pair<double, double>> joined;
      for (const auto& s : next)
        if (!joined.empty() && s.first <= joined.back().second)
          joined.back().second = std::max(joined.back().second, s.second);
        else
          joined.push_back(s);
      next = joined;
    }
    solid = next;
  }
  return solid;
}

double bed_mass_g(const Kit& kit) {
  return kit.bed ? kit.bed->mass_g : 0;
}

void add_supports(const Kit& kit, const Layout& layout, PlateModel& model) {
  for (const Placement& p : layout.placements)
    for (const Vec2 offset : carriage_holes(kit.carriages.size)) model.supports.push_back({p.at + offset, 0});
}

double worst_mount_mm(const Kit& kit, const PlateModel& model, const PlateSag& sag) {
  double worst = 0;
  for (const FrameHole& m : kit.frame.mounts) worst = std::max(worst, deflection_at(model, sag, m.at_mm));
  return worst;
}

Stiffness answer(const Kit& kit, const Layout& layout, PlateModel model, double load_g) {
  add_supports(kit, layout, model);
  const double mounts = static_cast<double>(kit.frame.mounts.size());
  Stiffness s;
  s.mass_g = plate_mass_g(model);
  for (const FrameHole& m : kit.frame.mounts) model.masses.push_back({m.at_mm, (bed_mass_g(kit) + load_g) / mounts});
  model.own_weight = true;
  const PlateSag all = sag_of(model);
  s.bed_sag_mm = worst_mount_mm(kit, model, all);
  s.small_deflection = all.small_deflection;
  for (PlateMass& mass : model.masses) mass.gram = load_g / mounts;
  model.own_weight = false;
  for (const PlateMass& mass : model.masses) model.forces.push_back({mass.at, mass.gram * 1e-3 * standard_gravity});
  s.load_sag_mm = worst_mount_mm(kit, model, sag_of(model));
  model.forces.clear();
  for (PlateMass& mass : model.masses) mass.gram = bed_mass_g(kit) / mounts;
  const std::vector<double> hertz = frequencies_of(model, 1);
  s.first_hz = hertz.empty() ? 0 : hertz.front();
  return s;
}

std::string in_words(const Stiffness& s) {
  return decimal(s.mass_g, 0) + " g, sinks " + decimal(s.bed_sag_mm, 3) + " mm at its mounts under bed and print (" +
         decimal(s.load_sag_mm, 3) + " mm of it under the print alone), first rings at " + decimal(s.first_hz, 0) +
         " Hz";
}

}  // namespace

PlateModel plate_model_of(const Part& part, double modulus_mpa, double poisson, double density_g_cm3, double widest) {
  const PlaneBox box = bounding_box(part.features.front().profile.front());
  std::vector<double> xs, ys;
  for (const Feature& f : part.features) {
    if (f.effect == Effect::none || f.kind == FeatureKind::mark) continue;
    for (const Loop& loop : f.profile) {
      if (loop.circle) continue;
      const PlaneBox b = bounding_box(loop);
      xs.insert(xs.end(), {b.low.x, b.high.x});
      ys.insert(ys.end(), {b.low.y, b.high.y});
    }
  }
  PlateModel model;
  model.x_lines = grid_lines(xs, box.low.x, box.high.x, widest);
  model.y_lines = grid_lines(ys, box.low.y, box.high.y, widest);
  for (std::size_t j = 0; j + 1 < model.y_lines.size(); ++j)
    for (std::size_t i = 0; i + 1 < model.x_lines.size(); ++i) {
      const Vec2 middle{(model.x_lines[i] + model.x_lines[i + 1]) / 2, (model.y_lines[j] + model.y_lines[j + 1]) / 2};
      PlateCell cell;
      for (const auto& s : column_at(part, middle))
        cell.push_back({s.first, s.second, modulus_mpa, poisson, density_g_cm3});
      model.cells.push_back(std::move(cell));
    }
  return model;
}

Stiffness support_stiffness(const Kit& kit, const Layout& layout, const Part& part) {
  const Material* material = find_material(part.material);
  // Holes smaller than a cell do not weaken a plate enough to see; a cell that they hit would lose all of it.
  Part plain = part;
  plain.features.erase(std::remove_if(plain.features.begin(), plain.features.end(),
                                      [](const Feature& f) {
                                        return f.kind == FeatureKind::mark || f.kind == FeatureKind::clearance_hole ||
                                               f.kind == FeatureKind::counterbore ||
                                               f.kind == FeatureKind::insert_pocket;
                                      }),
                       plain.features.end());
  const PlateModel model =
      plate_model_of(plain, material->modulus_gpa * 1000, printed_poisson, material->density_g_cm3, cell_mm);
  return answer(kit, layout, model, part.settings.at("load_g").get<double>());
}

Stiffness sheet_stiffness(const Kit& kit, const Layout& layout, double load_g) {
  Vec2 low{1e300, 1e300}, high{-1e300, -1e300};
  const auto reach = [&](Vec2 at) {
    low = {std::min(low.x, at.x - sheet_margin_mm), std::min(low.y, at.y - sheet_margin_mm)};
    high = {std::max(high.x, at.x + sheet_margin_mm), std::max(high.y, at.y + sheet_margin_mm)};
  };
  for (const FrameHole& hole : kit.frame.holes) reach(hole.at_mm);
  for (const FrameHole& hole : kit.frame.mounts) reach(hole.at_mm);
  for (const Placement& p : layout.placements)
    for (const Vec2 offset : carriage_holes(kit.carriages.size)) reach(p.at + offset);
  const Material* material = find_material(kit.frame.material);
  const double half = kit.frame.sheet_thickness_mm / 2;
  PlateModel model;
  model.x_lines = grid_lines({}, low.x, high.x, sheet_cell_mm);
  model.y_lines = grid_lines({}, low.y, high.y, sheet_cell_mm);
  model.cells.assign((model.x_lines.size() - 1) * (model.y_lines.size() - 1),
                     {{-half, half, material->modulus_gpa * 1000, metal_poisson, material->density_g_cm3}});
  Stiffness s = answer(kit, layout, model, load_g);
  if (kit.frame.mass_g > 0) s.mass_g = kit.frame.mass_g;
  return s;
}

std::vector<Finding> stiffness_findings(const Kit& kit, const Layout& layout, const std::vector<const Part*>& parts,
                                        const std::vector<double>& masses_g) {
  std::vector<Finding> findings;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Part& part = *parts[i];
    if (part.family != "support_plate") continue;
    Stiffness printed = support_stiffness(kit, layout, part);
    printed.mass_g = masses_g[i];
    const Stiffness sheet = sheet_stiffness(kit, layout, part.settings.at("load_g").get<double>());
    std::string text = part.id + ": " + in_words(printed) + ". The " + kit.frame.material +
                       " sheet it replaces: " + in_words(sheet) + "; its dome makes it stiffer than that";
    const double saved = sheet.mass_g - printed.mass_g;
    if (kit.before && kit.before->moving_mass_g && *kit.before->moving_mass_g > saved) {
      const double before = *kit.before->moving_mass_g;
      text += ". " + decimal(std::fabs(saved), 0) + (saved > 0 ? " g less" : " g more") + " to move: ringing at " +
              decimal(ringing_ratio(before, before - saved), 3) + " times the frequency (square root of the masses)";
    }
    findings.push_back({"support-stiffness", Severity::note, part.id, "", text, printed.bed_sag_mm, 0, "mm",
                        "the model is a solid elastic plate: no infill, no creep, no layers that part; press a corner "
                        "of the first one by hand before you trust it"});
    if (printed.load_sag_mm > part_sag_limit_mm || !printed.small_deflection)
      findings.push_back({"support-sag", Severity::warning, part.id, "",
                          part.id + " sinks " + decimal(printed.load_sag_mm, 3) +
                              " mm more at a mount when the print is on it; levelling cannot take that away",
                          printed.load_sag_mm, part_sag_limit_mm, "mm",
                          "make rib_height_mm larger: stiffness goes with about its third power"});
    if (part.settings.contains("weight_limit_g") && printed.mass_g > part.settings.at("weight_limit_g").get<double>())
      findings.push_back({"support-heavy", Severity::warning, part.id, "",
                          part.id + " weighs " + decimal(printed.mass_g, 0) + " g printed solid", printed.mass_g,
                          part.settings.at("weight_limit_g").get<double>(), "g",
                          "narrower webs (web_mm) save most for the stiffness they cost"});
  }
  return findings;
}

}  // namespace bedwright
