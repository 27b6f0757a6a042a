#include "output/dome_block.h"

#include <cmath>

#include "base/numbers.h"

namespace bedwright {
namespace {

constexpr int grid_points = 15;  // a side, of a surface written from its fit

std::string points_text(const Survey& s) {
  std::string text =
      std::string(points_file_mark) + "\n# machine frame, mm: +X right, +Y rear, +Z up\nx_mm,y_mm,z_mm\n";
  const auto row = [&](double x, double y, double z) {
    text += decimal(x, 4) + "," + decimal(y, 4) + "," + decimal(z, 4) + "\n";
  };
  // Only the shape counts: heights from the surface's own middle, wherever a scan had its zero.
  const double zero = height_of(s.model, (s.low.x + s.high.x) / 2, (s.low.y + s.high.y) / 2);
  if (s.shape == FitShape::measured) {
    for (const Vec3& p : s.used) row(p.x, p.y, p.z - zero);
    return text;
  }
  for (int j = 0; j < grid_points; ++j)
    for (int i = 0; i < grid_points; ++i) {
      const double x = s.low.x + (s.high.x - s.low.x) * i / (grid_points - 1);
      const double y = s.low.y + (s.high.y - s.low.y) * j / (grid_points - 1);
      row(x, y, height_of(s.model, x, y) - zero);
    }
  return text;
}

}  // namespace

DomeText dome_text(const Survey& s, bool upper, std::optional<Vec2> apex, const std::string& points_name) {
  DomeText dome;
  auto& block = dome.block;
  block["shape"] = s.kept_as_points ? "measured" : to_text(s.shape);
  // Whole parts over a power of ten: the nearest double, which prints short.
  const auto radius = [](double v) { return std::round(v * 10) / 10; };
  const auto place = [](double v) { return std::round(v * 100) / 100 + 0.0; };
  const auto finish = [&](double curvature, Vec2 top) {
    block["crown"] = curvature >= 0 ? "up" : "down";
    if (apex) block["apex_mm"] = {place(top.x), place(top.y)};
  };
  const auto words = [&](double r, double u) {
    return decimal(r, 1) + " mm, give or take " + decimal(s.factor * u, 1) + " mm (95 %)";
  };
  std::string found;
  if (s.kept_as_points) {
    block["points"] = points_name;
    dome.points = points_text(s);
    found = std::string(s.shape == FitShape::saddle     ? "twisted"
                        : s.shape == FitShape::cylinder ? "cylinder, straight along neither X nor Y"
                                                        : "bumps or waves") +
            ", kept as points";
  } else if (s.shape == FitShape::flat) {
    found = "flat";
  } else if (s.shape == FitShape::sphere) {
    block["radius_mm"] = radius(s.radius_mm);
    finish(s.curvature, apex.value_or(Vec2{}));
    found = "sphere, radius " + words(s.radius_mm, s.radius_u_mm);
  } else if (s.shape == FitShape::cylinder) {
    const ShapeModel& m = s.model;
    const bool along_y = std::fabs(m.turn_y) >= std::fabs(m.turn_x);
    // The line where the surface is level, from its lean at the data's middle.
    const Vec2 top = !s.apex_u ? apex.value_or(Vec2{})
                     : along_y ? Vec2{m.origin.x - m.lean_x / m.curvature, 0}
                               : Vec2{0, m.origin.y - m.lean_y / m.curvature};
    block["radius_mm"] = radius(s.radii_mm->x);
    block["axis"] = along_y ? "y" : "x";
    finish(m.curvature, top);
    found = "cylinder, radius " + words(s.radii_mm->x, s.radii_u_mm->x);
  } else {
    block["radius_x_mm"] = radius(s.radii_mm->x);
    block["radius_y_mm"] = radius(s.radii_mm->y);
    finish(s.model.curvature_x, s.apex_u ? Vec2{s.model.origin.x + s.model.apex_x, s.model.origin.y + s.model.apex_y}
                                         : apex.value_or(Vec2{}));
    found = "two radii, along X " + words(s.radii_mm->x, s.radii_u_mm->x) + ", along Y " +
            words(s.radii_mm->y, s.radii_u_mm->y);
  }
  if (s.shape != FitShape::flat) block["measured_on"] = upper ? "upper" : "underside";
  block["note"] = "Surveyed: " + found + "; " + std::to_string(s.points) + (s.apex_u ? " points" : " readings") +
                  (s.outliers > 0 ? ", " + std::to_string(s.outliers) + " of them left out" : "") + ".";
  return dome;
}

}  // namespace bedwright
