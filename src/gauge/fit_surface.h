// Least-squares planes, spheres and cylinders through the vertices of a face. Private to the gauge.
// The data are centred and the curvature, not the radius, is the unknown, so that a dome of 100 m radius over 60 mm is
// as well conditioned as a ball (checked against closed forms in the tests).
#pragma once

#include <optional>
#include <vector>

#include "base/vec.h"

namespace bedwright {

struct FittedPlane {
  Vec3 normal{};  ///< unit; sign follows `up`
  Vec3 centroid{};
  double residual_mm = 0;  ///< largest distance of a point
};
/// At least three points not on one line.
std::optional<FittedPlane> fitted_plane(const std::vector<Vec3>& points, Vec3 up);

struct FittedSphere {
  Vec3 centre{};
  double radius_mm = 0;  ///< > 0: the centre lies against `up`, the face bulges along `up`; < 0: hollow
  Vec3 apex{};           ///< point of the sphere nearest the face, straight above (or below) the centre along `up`
  double residual_mm = 0;
};
/// At least four points not in one plane. `up` is unit.
std::optional<FittedSphere> fitted_sphere(const std::vector<Vec3>& points, Vec3 up);

struct FittedCylinder {
  Vec3 axis{}, point{};
  double radius_mm = 0;  ///< sign as for spheres
  double residual_mm = 0;
};
std::optional<FittedCylinder> fitted_cylinder(const std::vector<Vec3>& points, Vec3 up);

}  // namespace bedwright
