#include "survey/surface.h"

#include <algorithm>
#include <cmath>

#include "base/error.h"
#include "base/numbers.h"
#include "base/trig.h"
#include "survey/measured_fit.h"

namespace bedwright {
namespace {

/// Sag and its gradient in the surface's own axes.
struct Local {
  double sag = 0;
  Vec2 gradient{};
};

double least_radius(const Surface& s) {
  return s.shape == SurfaceShape::two_radius ? std::min(s.radius_x, s.radius_y) : s.radius_x;
}

void require_within(const Surface& s, double distance) {
  const double limit = largest_reach_of_radius * least_radius(s);
  if (!(distance <= limit))
    throw Error("the frame's surface is asked for " + decimal(distance, 2) + " mm from its apex; a radius of " +
                decimal(least_radius(s), 2) + " mm reaches " + decimal(limit, 2) + " mm at most");
}

// Every sag is written as (small) / (large), never as a difference of two large numbers: exact to rounding
// for a radius of kilometres too.
// Inlined, so that who wants a height only does not pay for the gradient.
[[gnu::always_inline]] inline Local local_at(const Surface& s, Vec2 p) {
  const Vec2 d = p - s.apex;
  const double x = dot(d, s.local_x), y = dot(d, s.local_y);
  switch (s.shape) {
    case SurfaceShape::sphere: {
      const double r2 = x * x + y * y, R = s.radius_x;
      require_within(s, std::sqrt(r2));
      const double root = std::sqrt(R * R - r2);
      return {r2 / (R + root), {x / root, y / root}};
    }
    case SurfaceShape::cylinder: {
      const double R = s.radius_x;
      require_within(s, std::fabs(x));
      const double root = std::sqrt(R * R - x * x);
      return {x * x / (R + root), {x / root, 0}};
    }
    case SurfaceShape::two_radius: {
      require_within(s, std::sqrt(x * x + y * y));
      const double Rx = s.radius_x, Ry = s.radius_y;
      const double root_y = std::sqrt(Ry * Ry - y * y);
      const double drop = y * y / (Ry + root_y);  // of the generating circle at y
      const double q = Rx - drop;                 // its distance from the axis of revolution
      const double w = std::sqrt(q * q - x * x);
      return {(drop * (Rx + q) + x * x) / (Rx + w), {x / w, q * y / (root_y * w)}};
    }
    case SurfaceShape::measured: {
      const SpotOnShape spot = spot_on(*s.measured, {x, y});
      return {s.measured->origin_z - spot.z, -spot.gradient};
    }
    default:
      return {};
  }
}

}  // namespace

Surface make_underside(const FrameSettings& frame, double height_mm) {
  const Dome& dome = frame.dome;
  Surface s;
  s.height = height_mm;
  s.apex = dome.apex_mm;
  s.sign = dome.crown_up ? 1 : -1;
  // The faces are parallel: both radii differ by the thickness, the upper being the outer one for crown up.
  const double to_underside = dome.measured_on_upper ? -s.sign * frame.sheet_thickness_mm : 0.0;
  if (dome.shape == "sphere") {
    s.shape = SurfaceShape::sphere;
    s.radius_x = s.radius_y = dome.radius_mm + to_underside;
  } else if (dome.shape == "cylinder") {
    s.shape = SurfaceShape::cylinder;
    s.radius_x = s.radius_y = dome.radius_mm + to_underside;
    if (dome.axis == "x") {
      s.local_x = {0, 1};
      s.local_y = {-1, 0};
    }
  } else if (dome.shape == "two_radius") {
    s.shape = SurfaceShape::two_radius;
    s.radius_x = dome.radius_x_mm + to_underside;
    s.radius_y = dome.radius_y_mm + to_underside;
  } else if (dome.shape == "measured") {
    // Heights go up whatever the shape: neither crown nor apex is asked for.
    s.shape = SurfaceShape::measured;
    s.measured = fit_measured(dome.points_mm, dome.measured_on_upper ? frame.sheet_thickness_mm : 0.0);
    s.sign = 1;
    s.apex = {};
  }
  return s;
}

double sag_at(const Surface& surface, Vec2 p) {
  return local_at(surface, p).sag;
}

double height_at(const Surface& surface, Vec2 p) {
  return surface.height - surface.sign * sag_at(surface, p) + dot(surface.slope, p);
}

std::optional<double> height_if_known(const Surface& surface, Vec2 p) {
  try {
    return height_at(surface, p);
  } catch (const Error&) {
    return std::nullopt;
  }
}

Vec2 gradient_at(const Surface& surface, Vec2 p) {
  const Vec2 g = local_at(surface, p).gradient;
  return -surface.sign * (g.x * surface.local_x + g.y * surface.local_y) + surface.slope;
}

Vec3 normal_at(const Surface& surface, Vec2 p) {
  const Vec2 g = gradient_at(surface, p);
  const double n = 1.0 / std::sqrt(1.0 + dot(g, g));
  return {-g.x * n, -g.y * n, n};
}

double slope_at(const Surface& surface, Vec2 p) {
  return atan2_rad(length(gradient_at(surface, p)), 1.0);
}

double curvature_bound(const Surface& surface, double reach) {
  if (surface.shape == SurfaceShape::plane) return 0;
  if (surface.shape == SurfaceShape::measured) return curvature_bound(*surface.measured, {}, reach);
  require_within(surface, reach);
  const double Rx = surface.radius_x, Ry = surface.radius_y, r2 = reach * reach;
  if (surface.shape != SurfaceShape::two_radius) {
    // Radial second derivative R^2 / (R^2 - r^2)^(3/2), the larger of the two, grows outward.
    const double root = std::sqrt(Rx * Rx - r2);
    return Rx * Rx / (root * root * root);
  }
  // With s = sqrt(Ry^2 - y^2), q = Rx - Ry + s, w = sqrt(q^2 - x^2): sag_xx = q^2 / w^3,
  // sag_yy = q Ry^2 / (s^3 w) + x^2 y^2 / (s^2 w^3), sag_xy = x y q / (s w^3). Each factor is taken at its worst;
  // w^2 is monotonic along the rim between the axes, so it is least at the end of one of them.
  const double s = std::sqrt(Ry * Ry - r2);
  const double q_least = Rx - r2 / (Ry + s);
  const double w = std::sqrt(std::min(Rx * Rx - r2, q_least * q_least)), w3 = w * w * w;
  const double xx = Rx * Rx / w3;
  const double yy = Rx * Ry * Ry / (s * s * s * w) + 0.25 * r2 * r2 / (s * s * w3);
  const double xy = 0.5 * r2 * Rx / (s * w3);
  return std::max(xx, yy) + xy;  // Gershgorin
}

Surface transformed(const Surface& surface, const Transform& t) {
  const auto in_plane = [&](Vec2 d) {
    const Vec3 r = turn(t, {d.x, d.y, 0});
    return Vec2{r.x, r.y};
  };
  Surface s = surface;
  const Vec3 apex = apply(t, {surface.apex.x, surface.apex.y, 0});
  s.apex = {apex.x, apex.y};
  s.local_x = in_plane(surface.local_x);
  s.local_y = in_plane(surface.local_y);
  s.slope = in_plane(surface.slope);
  // The added plane passes through the old origin, which has moved.
  s.height = surface.height + t.m[11] - dot(s.slope, Vec2{t.m[3], t.m[7]});
  return s;
}

}  // namespace bedwright
