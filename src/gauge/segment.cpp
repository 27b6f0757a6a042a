#include "gauge/segment.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>
#include <utility>

#include "base/joined.h"
#include "base/trig.h"
#include "gauge/cylinders.h"
#include "gauge/fit_surface.h"
#include "gauge/walls.h"

namespace bedwright {
namespace {

constexpr double smooth_turn =
    12 * rad_per_deg;                    // between facets of one smooth face; a dome's turn by about one degree
constexpr double chamfer_spread = 0.02;  // of the cosine between facets and the bevel's axis
constexpr double seat_radius_mm = 100;   // partial cylinders wider than this are seats, not rounded edges
constexpr double seat_coverage_deg = 90;
constexpr std::size_t most_bent_planes = 3;
constexpr double least_bend = 2 * rad_per_deg;  // facets of a seat turn by less, even for 500 mm of radius

Vec3 nearest_file_axis(Vec3 n) {
  const double x = std::fabs(n.x), y = std::fabs(n.y), z = std::fabs(n.z);
  if (z >= x && z >= y) return {0, 0, n.z < 0 ? -1.0 : 1.0};
  return x >= y ? Vec3{n.x < 0 ? -1.0 : 1.0, 0, 0} : Vec3{0, n.y < 0 ? -1.0 : 1.0, 0};
}

/// Smooth faces: patches not taken by walls, joined over edges that hardly turn. Each list ascending.
std::vector<std::vector<std::uint32_t>> smooth_faces(const Patches& patches, const std::vector<std::uint8_t>& taken) {
  const auto count = static_cast<std::uint32_t>(patches.patches.size());
  std::vector<std::uint32_t> parent(count);
  std::iota(parent.begin(), parent.end(), 0u);
  for (std::uint32_t p = 0; p < count; ++p) {
    if (taken[p]) continue;
    const Patch& patch = patches.patches[p];
    for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links; ++i) {
      const Link& link = patches.links[i];
      if (taken[link.to] || link.angle_rad > smooth_turn) continue;
      join(parent, p, link.to);
    }
  }
  std::vector<std::vector<std::uint32_t>> faces(count);
  for (std::uint32_t p = 0; p < count; ++p)
    if (!taken[p]) faces[root_of(parent, p)].push_back(p);
  faces.erase(std::remove_if(faces.begin(), faces.end(), [](const auto& f) { return f.empty(); }), faces.end());
  return faces;
}

struct Face {
  std::vector<std::uint32_t> facets;
  std::vector<Vec3> points;
  Vec3 normal{};  ///< mean, unit
  Vec3 centroid{};
  double area_mm2 = 0;
};

/// Which vertices the face at hand has been seen to have.
struct Marks {
  std::vector<std::uint32_t> face_of_vertex;
  std::uint32_t face = 0;
};

Face face_of(const Mesh& mesh, const Patches& patches, const std::vector<std::uint32_t>& members, Marks& marks) {
  Face face;
  ++marks.face;
  std::vector<std::uint32_t> vertices;
  Vec3 sum{};
  for (std::uint32_t p : members) {
    const Patch& patch = patches.patches[p];
    face.area_mm2 += patch.area_mm2;
    face.centroid = face.centroid + patch.area_mm2 * patch.centroid;
    sum = sum + patch.area_mm2 * patch.normal;
    for (std::uint32_t i = patch.first_facet; i < patch.first_facet + patch.facets; ++i) {
      face.facets.push_back(patches.facets[i]);
      for (std::uint32_t v : mesh.triangles[patches.facets[i]])
        if (std::exchange(marks.face_of_vertex[v], marks.face) != marks.face) vertices.push_back(v);
    }
  }
  if (members.size() > 1) std::sort(face.facets.begin(), face.facets.end());
  if (vertices.size() < marks.face_of_vertex.size() / 8) {
    std::sort(vertices.begin(), vertices.end());
  } else {  // quicker
    vertices.clear();
    for (std::uint32_t v = 0; v < marks.face_of_vertex.size(); ++v)
      if (marks.face_of_vertex[v] == marks.face) vertices.push_back(v);
  }
  for (std::uint32_t v : vertices) face.points.push_back(mesh.vertices[v]);
  face.centroid = (1 / face.area_mm2) * face.centroid;
  const double l = length(sum);
  face.normal = l > 0 ? (1 / l) * sum : Vec3{0, 0, 1};
  return face;
}

/// Two or three walls that meet at a few degrees: their few corners would fit any surface.
bool is_bent_wall(const Patches& patches, const std::vector<std::uint32_t>& members) {
  if (members.size() < 2 || members.size() > most_bent_planes) return false;
  double most = 0;
  for (std::uint32_t p : members) {
    const Patch& patch = patches.patches[p];
    for (std::uint32_t i = patch.first_link; i < patch.first_link + patch.links; ++i)
      if (std::binary_search(members.begin(), members.end(), patches.links[i].to))
        most = std::max(most, patches.links[i].angle_rad);
  }
  return most > least_bend;
}

/// Facets all at one angle to some axis and turning about it: a bevel along a rounded outline.
bool is_chamfer(const Patches& patches, const std::vector<std::uint32_t>& members, MeasuredFeature& f) {
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  double area = 0;
  for (std::uint32_t p : members) {
    const Patch& patch = patches.patches[p];
    mean += patch.area_mm2 * Eigen::Vector3d(patch.normal.x, patch.normal.y, patch.normal.z);
    area += patch.area_mm2;
  }
  mean /= area;
  Eigen::Matrix3d spread = Eigen::Matrix3d::Zero();
  for (std::uint32_t p : members) {
    const Patch& patch = patches.patches[p];
    const Eigen::Vector3d d = Eigen::Vector3d(patch.normal.x, patch.normal.y, patch.normal.z) - mean;
    spread += patch.area_mm2 / area * d * d.transpose();
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> solver(spread);
  if (solver.eigenvalues()(1) < 1e-3) return false;  // hardly turns: a seat
  const Eigen::Vector3d e = solver.eigenvectors().col(0);
  const Vec3 axis{e(0), e(1), e(2)};
  double least = 2, most = -2;
  for (std::uint32_t p : members) {
    const double c = dot(patches.patches[p].normal, axis);
    least = std::min(least, c);
    most = std::max(most, c);
  }
  if (most - least > chamfer_spread || std::fabs(most) < 0.1 || std::fabs(most) > 0.98) return false;
  const double sine = 0.5 * (least + most);
  f.axis = sine > 0 ? axis : -axis;
  f.angle_deg = atan2_rad(std::fabs(sine), std::sqrt(1 - sine * sine)) / rad_per_deg;
  return true;
}

MeasuredFeature face_feature(const Patches& patches, const std::vector<std::uint32_t>& members, const Face& face) {
  MeasuredFeature f;
  f.area_mm2 = face.area_mm2;
  f.facets = face.facets;
  f.at = face.centroid;
  f.axis = face.normal;
  const double tolerance = 4 * patches.tolerance_mm;
  if (members.size() == 1) {
    f.kind = "plane";
    for (const Vec3& p : face.points)
      f.residual_mm = std::max(f.residual_mm, std::fabs(dot(p - face.centroid, face.normal)));
    return f;
  }
  if (const auto plane = fitted_plane(face.points, face.normal); plane && plane->residual_mm < tolerance) {
    f.kind = "plane";
    f.axis = plane->normal;
    f.residual_mm = plane->residual_mm;
    return f;
  }
  const Vec3 up = nearest_file_axis(face.normal);
  if (const auto sphere = fitted_sphere(face.points, up); sphere && sphere->residual_mm < tolerance) {
    f.kind = "sphere_seat";
    f.axis = up;
    f.at = sphere->apex;
    f.centre = sphere->centre;
    f.radius_mm = sphere->radius_mm;
    f.residual_mm = sphere->residual_mm;
    return f;
  }
  if (const auto cylinder = fitted_cylinder(face.points, face.normal); cylinder && cylinder->residual_mm < tolerance) {
    f.kind = "cylinder_seat";
    f.axis = cylinder->axis;
    f.centre = cylinder->point;
    f.radius_mm = cylinder->radius_mm;
    f.residual_mm = cylinder->residual_mm;
    const Vec3 foot = f.centre + dot(face.centroid - f.centre, f.axis) * f.axis;
    const Vec3 out = face.normal - dot(face.normal, f.axis) * f.axis;
    f.at = foot + (f.radius_mm / length(out)) * out;
    return f;
  }
  if (is_chamfer(patches, members, f)) {
    f.kind = "chamfer";
    double least = 1e300, most = -1e300;
    for (const Vec3& p : face.points) {
      const double z = dot(p, upward(f.axis));
      least = std::min(least, z);
      most = std::max(most, z);
    }
    f.low_mm = least;
    f.high_mm = most;
    f.depth_mm = most - least;
    return f;
  }
  f.kind = "curved_seat";
  f.axis = up;
  if (const auto sphere = fitted_sphere(face.points, up)) {
    f.radius_mm = sphere->radius_mm;
    f.centre = sphere->centre;
    f.residual_mm = sphere->residual_mm;
  }
  return f;
}

}  // namespace

std::vector<MeasuredFeature> segmented(const Mesh& mesh, const Topology& topology, const Patches& patches) {
  std::vector<std::uint8_t> taken;
  std::vector<Cylinder> cylinders = find_cylinders(mesh, patches, taken);
  // Wide, shallow strips are seats: their patches go back to the smooth faces.
  for (std::size_t i = 0; i < cylinders.size();) {
    const Cylinder& c = cylinders[i];
    if (c.vertex_radius > seat_radius_mm && c.coverage_rad < seat_coverage_deg * rad_per_deg) {
      for (std::uint32_t p : c.patches) taken[p] = 0;
      cylinders.erase(cylinders.begin() + static_cast<std::ptrdiff_t>(i));
    } else {
      ++i;
    }
  }
  std::vector<MeasuredFeature> features = wall_features({mesh, topology, patches}, std::move(cylinders), taken);
  Marks marks{std::vector<std::uint32_t>(mesh.vertices.size(), 0)};
  for (const auto& members : smooth_faces(patches, taken)) {
    if (is_bent_wall(patches, members)) {
      for (std::uint32_t p : members)
        features.push_back(face_feature(patches, {p}, face_of(mesh, patches, {p}, marks)));
    } else {
      features.push_back(face_feature(patches, members, face_of(mesh, patches, members, marks)));
    }
  }
  const auto first_facet = [](const MeasuredFeature& f) { return f.facets.empty() ? 0u : f.facets.front(); };
  std::sort(features.begin(), features.end(), [&](const MeasuredFeature& a, const MeasuredFeature& b) {
    return std::make_tuple(a.kind, a.at.z, a.at.y, a.at.x, first_facet(a)) <
           std::make_tuple(b.kind, b.at.z, b.at.y, b.at.x, first_facet(b));
  });
  return features;
}

}  // namespace bedwright
