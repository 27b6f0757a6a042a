#include "print/staircase.h"

#include <algorithm>
#include <cmath>

#include "parts/features.h"

namespace bedwright {
namespace {

// Vertices of a seat lie on its surface but for the lattice (1.5e-5) and a measured surface's own steps.
constexpr double on_seat_mm = 1e-3;
// Nearer than this to a layer's middle a height may be cut either way: rounding of the file's coordinates.
constexpr double hair_mm = 1e-5;

}  // namespace

double step_error(double z, Layering l) {
  if (z < l.first_mm / 2) return -z;
  if (z < l.first_mm + l.layer_mm / 2) return l.first_mm - z;
  const double above = std::floor((z - l.first_mm) / l.layer_mm + 0.5);
  return l.first_mm + above * l.layer_mm - z;
}

StepRange step_errors(double low, double high, Layering l) {
  // Falls steadily from one middle to the next, where it jumps.
  const double at_low = step_error(low, l), at_high = step_error(high, l);
  StepRange range{std::min(at_low, at_high), std::max(at_low, at_high)};
  const double first_middle = l.first_mm / 2, second_middle = l.first_mm + l.layer_mm / 2;
  const auto jump = [&](double middle, double half_below, double half_above) {
    if (low >= middle - hair_mm || high <= middle + hair_mm) return;
    range.least = std::min(range.least, -half_below);
    range.greatest = std::max(range.greatest, half_above);
  };
  jump(first_middle, l.first_mm / 2, l.first_mm / 2);
  const double next = std::max(0.0, std::ceil((low + hair_mm - second_middle) / l.layer_mm));
  jump(second_middle + next * l.layer_mm, l.layer_mm / 2, l.layer_mm / 2);
  return range;
}

std::vector<std::uint32_t> seat_facets(const Part& part, const Mesh& solid) {
  std::vector<std::uint32_t> facets;
  if (std::none_of(part.features.begin(), part.features.end(),
                   [](const Feature& f) { return f.kind == FeatureKind::seat; }))
    return facets;
  for (std::uint32_t f = 0; f < solid.triangles.size(); ++f) {
    Vec3 p[3];
    for (std::size_t k = 0; k < 3; ++k) p[k] = solid.vertices[solid.triangles[f][k]];
    const Vec3 n = cross(p[1] - p[0], p[2] - p[0]);
    if (n.z <= 0.5 * length(n)) continue;
    if (std::all_of(p, p + 3, [&](Vec3 q) { return std::fabs(q.z - height_at(part.seat, {q.x, q.y})) <= on_seat_mm; }))
      facets.push_back(f);
  }
  return facets;
}

double staircase_mm(const Mesh& solid, const std::vector<std::uint32_t>& seat, const Transform& part_to_print,
                    Layering layering) {
  double least = 1e300, greatest = -1e300;
  for (const std::uint32_t f : seat) {
    Vec3 p[3];
    for (std::size_t k = 0; k < 3; ++k) p[k] = apply(part_to_print, solid.vertices[solid.triangles[f][k]]);
    const Vec3 n = cross(p[1] - p[0], p[2] - p[0]);
    const double size = length(n);
    if (size == 0) continue;
    const double steep = std::fabs(n.z) / size;
    const StepRange range =
        step_errors(std::min({p[0].z, p[1].z, p[2].z}), std::max({p[0].z, p[1].z, p[2].z}), layering);
    least = std::min(least, steep * range.least);
    greatest = std::max(greatest, steep * range.greatest);
  }
  return least > greatest ? 0 : greatest - least;
}

double pads_staircase_mm(const Part& part, const std::vector<Vec2>& centres, double diameter_mm, double below_mm,
                         Layering layering) {
  double least = 1e300, greatest = -1e300;
  for (const Vec2 c : centres) {
    const HeightRange h = heights_over(part.seat, {circle_loop(c, diameter_mm / 2, Facets::inside)});
    const StepRange range = step_errors(h.least + below_mm, h.greatest + below_mm, layering);
    least = std::min(least, range.least);
    greatest = std::max(greatest, range.greatest);
  }
  return least > greatest ? 0 : greatest - least;
}

}  // namespace bedwright
