#include "survey/shape_model.h"

#include "survey/distance.h"

namespace bedwright {

const char* to_text(FitShape shape) {
  switch (shape) {
    case FitShape::flat:
      return "flat";
    case FitShape::sphere:
      return "sphere";
    case FitShape::cylinder:
      return "cylinder";
    case FitShape::two_radius:
      return "two_radius";
    case FitShape::saddle:
      return "saddle";
    default:
      return "measured";
  }
}

std::array<double, quartic_terms> polynomial_terms(double x, double y) {
  const double x2 = x * x, y2 = y * y, xy = x * y;
  return {1, x, y, x2 + y2, x2 - y2, xy, x2 * x, x2 * y, x * y2, y2 * y, x2 * x2, x2 * xy, x2 * y2, xy * y2, y2 * y2};
}

double distance_from(const ShapeModel& m, Vec3 p) {
  const Vec3 q = p - m.origin;
  switch (m.shape) {
    case FitShape::flat:
      return plane_distance(m.offset, m.lean_x, m.lean_y, q);
    case FitShape::sphere:
      return sphere_distance(m.offset, m.lean_x, m.lean_y, m.curvature, q);
    case FitShape::cylinder:
      return cylinder_distance(m.offset, m.lean_x, m.lean_y, m.curvature, m.turn_x, m.turn_y, q);
    case FitShape::two_radius:
      return torus_distance(m.apex_x, m.apex_y, m.offset, m.curvature_x, m.curvature_y, q);
    default: {
      const auto terms = polynomial_terms(q.x / m.reach, q.y / m.reach);
      double added = 0;
      for (std::size_t k = 0; k < quartic_terms; ++k) added += m.added[k] * terms[k];
      return sphere_distance(m.offset, m.lean_x, m.lean_y, m.curvature, q) - added;
    }
  }
}

std::vector<double> distances_from(const ShapeModel& m, const std::vector<Vec3>& points) {
  std::vector<double> distances;
  distances.reserve(points.size());
  if (m.shape != FitShape::sphere) {
    for (const Vec3& p : points) distances.push_back(distance_from(m, p));
    return distances;
  }
  const Lean<double> normal = normal_of(m.lean_x, m.lean_y);  // the same for all
  for (const Vec3& p : points) distances.push_back(sphere_distance(m.offset, normal, m.curvature, p - m.origin));
  return distances;
}

double height_of(const ShapeModel& m, double x, double y) {
  double z = m.origin.z + m.offset - m.lean_x * (x - m.origin.x) - m.lean_y * (y - m.origin.y);
  if (m.shape == FitShape::two_radius) z = m.origin.z + m.offset;
  // The distance grows by the cosine of the slope for a step of z, so each step leaves a small share of the last.
  for (int pass = 0; pass < 40; ++pass) {
    const double step = distance_from(m, {x, y, z});
    z -= step;
    if (!(std::fabs(step) > 1e-12)) break;
  }
  return z;
}

}  // namespace bedwright
