// The frame's surface z = f(x, y) in closed form, and the same surface as a part sees it (shifted, turned,
// mirrored, tilted). Frame: whichever its owner says; for make_underside the machine frame.
// Source: sagitta of a sphere and of a torus, elementary geometry (design: section 4); a measured one: measured_fit.h.
#pragma once

#include <memory>
#include <optional>

#include "base/vec.h"
#include "kit/kit.h"
#include "survey/measured_shape.h"

namespace bedwright {

enum class SurfaceShape { plane, sphere, cylinder, two_radius, measured };

/// z = height - sign * sag(local) + slope . (x, y), local = (x, y) - apex turned back by `turned`.
/// sphere: sag = R - sqrt(R^2 - x^2 - y^2); cylinder (straight along its local y): R - sqrt(R^2 - x^2);
/// two_radius: Rx - sqrt((Rx - Ry + sqrt(Ry^2 - y^2))^2 - x^2).
/// measured: m(0, 0) - m(x, y), of either sign; its apex is no highest point, only the origin of its points' frame, the
/// machine's X = Y = 0.
struct Surface {
  SurfaceShape shape = SurfaceShape::plane;
  double radius_x = 0, radius_y = 0;  ///< sphere: both; cylinder: radius_x
  Vec2 apex{};
  Vec2 local_x{1, 0};  ///< unit direction of the surface's own x axis
  Vec2 local_y{0, 1};  ///< of its own y axis (left-handed pair after a mirror)
  int sign = 1;        ///< +1 crown up, -1 crown down
  double height = 0;   ///< z at the apex
  Vec2 slope{};        ///< added plane, for tapered parts
  std::shared_ptr<const MeasuredShape> measured;  ///< of a measured surface; shared by its copies
};

/// Least radius over the pattern: beyond this fraction of the radius from the apex the surface is not defined.
inline constexpr double largest_reach_of_radius = 0.9;

/// The sheet's underside, machine frame, apex at z = height_mm. Radii measured on the upper face are changed
/// by the thickness: minus for crown up, plus for crown down. A measured one is fitted here (measured_fit.h; throws
/// what that throws), and lowered by the thickness along its normal where its points are the upper face's.
Surface make_underside(const FrameSettings& frame, double height_mm);

/// Sag alone, >= 0 but for a measured surface. Throws Error beyond largest_reach_of_radius; a measured one has no end.
double sag_at(const Surface& surface, Vec2 p);
double height_at(const Surface& surface, Vec2 p);
/// The same, or nothing where `height_at` throws.
std::optional<double> height_if_known(const Surface& surface, Vec2 p);
/// (dz/dx, dz/dy), closed form.
Vec2 gradient_at(const Surface& surface, Vec2 p);
/// Unit normal with positive z, closed form.
Vec3 normal_at(const Surface& surface, Vec2 p);
/// Slope against the horizontal, radians.
double slope_at(const Surface& surface, Vec2 p);
/// Upper bound of the second directional derivative |d2z/ds2| over the disc of `reach` about the apex; 0 for a
/// plane; for a measured surface as far as it means something (beyond_mm). Linear interpolation over a triangle whose least enclosing circle has radius r is off by at most
/// bound * r^2 / 2.
double curvature_bound(const Surface& surface, double reach);

/// The surface under a rigid motion of the plane (a turn about Z or a mirror, and a shift; z shift added to height).
Surface transformed(const Surface& surface, const Transform& t);

}  // namespace bedwright
