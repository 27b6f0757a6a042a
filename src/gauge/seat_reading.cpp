#include <algorithm>
#include <cmath>

#include "gauge/dimensions.h"
#include "gauge/facet_tree.h"
#include "gauge/fit_surface.h"
#include "gauge/least_squares.h"

namespace bedwright {
namespace {

constexpr double faces_up = 0.7;
constexpr std::size_t most_fit_points = 3000;
constexpr int facet_grid = 6;  // parts of a facet's side: misses the farthest point by a ninth of a side at most

bool is_face(const MeasuredFeature& f) {
  return f.kind == "plane" || f.kind == "sphere_seat" || f.kind == "cylinder_seat" || f.kind == "curved_seat";
}

Vec3 normal_of(const Mesh& m, std::uint32_t facet) {
  const auto& t = m.triangles[facet];
  return cross(m.vertices[t[1]] - m.vertices[t[0]], m.vertices[t[2]] - m.vertices[t[0]]);
}

/// Area of the feature's upward facets that nothing covers and whose middles lie in the loop.
double bearing_area(const Placed& file, const FacetTree& tree, const MeasuredFeature& f, const Loop& loop) {
  double area = 0;
  for (std::uint32_t facet : f.facets) {
    const Vec3 n = normal_of(file.mesh, facet);
    const double l = length(n);
    if (!(n.z > faces_up * l)) continue;
    const auto& t = file.mesh.triangles[facet];
    const Vec3 c = (1.0 / 3) * (file.mesh.vertices[t[0]] + file.mesh.vertices[t[1]] + file.mesh.vertices[t[2]]);
    if (!contains(loop, {c.x, c.y})) continue;
    const auto hits = tree.along_z({c.x, c.y});
    if (!hits.empty() && hits.front().facet == facet) area += l / 2;
  }
  return area;
}

/// Torus of the form z = h - s sag(x - x0, y - y0) with sag = A - sqrt((A - B + sqrt(B^2 - v^2))^2 - u^2), u along x or
/// (swapped) along y; unknown are x0, y0, h and the two curvatures. Returns the largest residual.
double fit_torus(const std::vector<Vec3>& points, bool swapped, SeatReading& out) {
  const std::size_t step = points.size() / most_fit_points + 1;
  std::vector<Vec3> data;
  for (std::size_t i = 0; i < points.size(); i += step) data.push_back(points[i]);
  Vec3 mean{};
  for (const Vec3& p : data) mean = mean + p;
  mean = (1.0 / static_cast<double>(data.size())) * mean;
  const auto count = static_cast<Eigen::Index>(data.size());
  Eigen::MatrixXd a(count, 5);
  Eigen::VectorXd b(count);
  for (Eigen::Index i = 0; i < count; ++i) {
    const Vec3 q = data[static_cast<std::size_t>(i)] - mean;
    a.row(i) << 1, q.x, q.y, q.x * q.x, q.y * q.y;
    b(i) = q.z;
  }
  if (count < 6) return 1e300;
  const std::optional<Eigen::VectorXd> solution = linear_solution(a, b);
  if (!solution) return 1e300;
  const Eigen::VectorXd& c = *solution;
  if (!(c(3) * c(4) > 0)) return 1e300;
  const double s = c(3) < 0 ? 1 : -1;
  const auto height = [&](const Eigen::VectorXd& x, Vec3 q, double& z) {
    const double dx = q.x - x(0), dy = q.y - x(1), u = swapped ? dy : dx, v = swapped ? dx : dy;
    const double A = 1 / (swapped ? x(4) : x(3)), B = 1 / (swapped ? x(3) : x(4));
    if (!(A > 0) || !(B > 0) || !(B > std::fabs(v)) || !std::isfinite(A) || !std::isfinite(B)) return false;
    const double drop = v * v / (B + std::sqrt(B * B - v * v)), r = A - drop;
    if (!(r > std::fabs(u))) return false;
    z = x(2) - s * (drop * (A + r) + u * u) / (A + std::sqrt(r * r - u * u));
    return true;
  };
  const auto residuals = [&](const Eigen::VectorXd& x, Eigen::VectorXd& r) {
    for (Eigen::Index i = 0; i < count; ++i) {
      const Vec3 q = data[static_cast<std::size_t>(i)] - mean;
      double z = 0;
      if (!height(x, q, z)) return false;
      r(i) = q.z - z;
    }
    return true;
  };
  Eigen::VectorXd x(5), steps(5);
  const double kx = -2 * s * c(3), ky = -2 * s * c(4);
  x << s * c(1) / kx, s * c(2) / ky, 0, kx, ky;
  x(2) = c(0) + s * (kx * x(0) * x(0) + ky * x(1) * x(1)) / 2;
  steps << 1e-3, 1e-3, 1e-6, 1e-4 * kx, 1e-4 * ky;
  least_squares(residuals, x, steps, count);
  double worst = 0;
  for (const Vec3& p : points) {
    double z = 0;
    if (!height(x, p - mean, z)) return 1e300;
    worst = std::max(worst, std::fabs(p.z - mean.z - z));
  }
  out.radius_x = s / x(3);
  out.radius_y = s / x(4);
  out.apex = {mean.x + x(0), mean.y + x(1)};
  out.residual_mm = worst;
  return worst;
}

void fit_form(const Surface& form, SeatReading& r) {
  const Vec3 up{0, 0, 1};
  if (const auto plane = fitted_plane(r.points, up)) {
    r.slope = {-plane->normal.x / plane->normal.z, -plane->normal.y / plane->normal.z};
    r.residual_mm = plane->residual_mm;
  }
  if (form.shape == SurfaceShape::measured) return;  // held against the form itself, facet by facet
  if (form.shape == SurfaceShape::cylinder) {
    const auto c = fitted_cylinder(r.points, up);
    if (!c) return;
    const double along_x = std::fabs(c->axis.x), along_y = std::fabs(c->axis.y);
    if (along_y >= along_x) {
      r.radius_x = c->radius_mm;
      r.apex.x = c->point.x - c->point.y / c->axis.y * c->axis.x;
    } else {
      r.radius_y = c->radius_mm;
      r.apex.y = c->point.y - c->point.x / c->axis.x * c->axis.y;
    }
    r.residual_mm = c->residual_mm;
  } else if (form.shape == SurfaceShape::two_radius) {
    SeatReading other = r;
    const double straight = fit_torus(r.points, false, r), swapped = fit_torus(r.points, true, other);
    if (swapped < straight) r = other;
  } else if (const auto s = fitted_sphere(r.points, up)) {
    r.radius_x = r.radius_y = s->radius_mm;
    r.apex = {s->apex.x, s->apex.y};
    if (form.shape == SurfaceShape::sphere) r.residual_mm = s->residual_mm;
  }
}

/// A facet and a smooth surface are farthest apart somewhere between its corners: looked at in a grid over it.
void hold_against(const Surface& form, const Mesh& mesh, std::uint32_t facet, SeatReading& r) {
  const auto& t = mesh.triangles[facet];
  const Vec3 a = mesh.vertices[t[0]], u = mesh.vertices[t[1]] - a, v = mesh.vertices[t[2]] - a;
  for (int i = 0; i <= facet_grid; ++i)
    for (int j = 0; i + j <= facet_grid; ++j) {
      const Vec3 p = a + (static_cast<double>(i) / facet_grid) * u + (static_cast<double>(j) / facet_grid) * v;
      const double off = p.z - height_at(form, {p.x, p.y});
      r.least_off_mm = std::min(r.least_off_mm, off);
      r.most_off_mm = std::max(r.most_off_mm, off);
    }
}

}  // namespace

SeatReading read_seat(const Feature& seat, const Surface& form, const Placed& file) {
  SeatReading r;
  double largest = 0;
  for (const MeasuredFeature& f : file.features)
    if (f.kind == "plane" && f.axis.z < -0.99999 && f.area_mm2 > largest) {
      largest = f.area_mm2;
      r.carriage_mm = f.at.z;
    }
  const FacetTree tree(file.mesh);
  std::vector<std::uint8_t> chosen(file.features.size(), 0);
  for (const Loop& loop : seat.profile) {
    double best = 0;
    std::size_t which = 0;
    for (std::size_t i = 0; i < file.features.size(); ++i) {
      if (!is_face(file.features[i])) continue;
      const double area = bearing_area(file, tree, file.features[i], loop);
      if (area > best) {
        best = area;
        which = i;
      }
    }
    if (best > 0) chosen[which] = 1;
  }
  std::vector<std::uint32_t> vertices;
  for (std::size_t i = 0; i < file.features.size(); ++i)
    if (chosen[i])
      for (std::uint32_t facet : file.features[i].facets)
        for (std::uint32_t v : file.mesh.triangles[facet]) vertices.push_back(v);
  std::sort(vertices.begin(), vertices.end());
  vertices.erase(std::unique(vertices.begin(), vertices.end()), vertices.end());
  for (std::uint32_t v : vertices) r.points.push_back(file.mesh.vertices[v]);
  r.found = largest > 0 && !r.points.empty();
  if (!r.found) return r;
  r.lowest_mm = 1e300;
  for (const Vec3& p : r.points) r.lowest_mm = std::min(r.lowest_mm, p.z);
  if (form.shape == SurfaceShape::measured) {
    r.least_off_mm = 1e300;
    r.most_off_mm = -1e300;
    for (std::size_t i = 0; i < file.features.size(); ++i)
      if (chosen[i])
        for (std::uint32_t facet : file.features[i].facets) hold_against(form, file.mesh, facet, r);
  }
  fit_form(form, r);
  return r;
}

}  // namespace bedwright
