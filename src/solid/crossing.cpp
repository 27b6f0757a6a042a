#include "solid/crossing.h"

#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/corefinement.h>
#include <CGAL/Surface_mesh.h>

#include <algorithm>

#include "base/error.h"
#include "solid/build.h"
#include "solid/levels.h"
#include "solid/meet.h"
#include "solid/plane_faces.h"
#include "solid/topology.h"

namespace bedwright {
namespace {

namespace pmp = CGAL::Polygon_mesh_processing;
using Kernel = CGAL::Exact_predicates_exact_constructions_kernel;
using Exact = CGAL::Surface_mesh<Kernel::Point_3>;

// A cutter that opens beyond the part ends this far off it.
constexpr double beyond_mm = 1;
constexpr double beside_mm = 0.5;  // a defect this near to a feature's box is laid to it

/// Part coordinates of what is drawn upright: the profile's plane becomes (x, y), the axis z.
Transform to_part(Along along) {
  Transform t;
  if (along == Along::x) t.m = {0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1};
  if (along == Along::y) t.m = {1, 0, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 1};
  return t;
}

/// All that is cut along one axis, as bodies.
Mesh cutters_along(const Part& part, Along along, const Box& box, Lattice lattice) {
  Part upright;
  upright.id = part.id;
  upright.chord_mm = part.chord_mm;
  const double low = snap(along_axis(along, box.low) - beyond_mm, lattice),
               high = snap(along_axis(along, box.high) + beyond_mm, lattice);
  for (const Feature& f : part.features) {
    if (f.along != along || f.effect == Effect::none) continue;
    if (f.effect == Effect::add || f.chamfer_mm > 0)
      throw CannotBuild("crossing-adds", f.id + " adds material along X or Y", "features along X and Y only cut", {f.id});
    Feature cutter = f;
    cutter.effect = Effect::add;
    cutter.along = Along::z;
    if (cutter.from.kind == Bound::Kind::open) cutter.from = Bound::at(low);
    if (cutter.to.kind == Bound::Kind::open) cutter.to = Bound::at(high);
    upright.features.push_back(std::move(cutter));
  }
  if (upright.features.empty()) return {};
  return transformed(levels_solid(upright, lattice, false), to_part(along));
}

void append(Exact& out, const Mesh& mesh) {
  std::vector<Exact::Vertex_index> ids;
  for (const Vec3& v : mesh.vertices) ids.push_back(out.add_vertex({v.x, v.y, v.z}));
  for (const auto& t : mesh.triangles) out.add_face(ids[t[0]], ids[t[1]], ids[t[2]]);
}

/// One body of both, or nothing where they cannot be united.
bool unite(const Mesh& a, const Mesh& b, Exact& out) {
  append(out, a);
  if (a.triangles.empty() || b.triangles.empty() || !meets(a, b)) {
    append(out, b);
    return true;
  }
  Exact left, right;
  append(left, a);
  append(right, b);
  out.clear();
  return pmp::corefine_and_compute_union(left, right, out);
}

/// Every facet's plane faces of the mesh, exact adjacency by coplanarity, corners rounded.
FacedMesh faced(const Exact& mesh, Lattice lattice) {
  FacedMesh out;
  std::vector<std::uint32_t> ids(mesh.num_vertices() + mesh.number_of_removed_vertices());
  for (const auto v : mesh.vertices()) {
    const Kernel::Point_3& p = mesh.point(v);
    CGAL::exact(p);  // else the double depends on how the number was reached
    ids[v] = static_cast<std::uint32_t>(out.mesh.vertices.size());
    out.mesh.vertices.push_back(
        snap(Vec3{CGAL::to_double(p.x()), CGAL::to_double(p.y()), CGAL::to_double(p.z())}, lattice));
  }
  std::vector<std::uint32_t> numbers(mesh.num_faces() + mesh.number_of_removed_faces());
  for (const auto f : mesh.faces()) {
    numbers[f] = static_cast<std::uint32_t>(out.mesh.triangles.size());
    std::array<std::uint32_t, 3> t{};
    std::size_t k = 0;
    for (const auto v : mesh.vertices_around_face(mesh.halfedge(f))) t[k++] = ids[v];
    out.mesh.triangles.push_back(t);
  }
  for (const auto e : mesh.edges()) {
    const auto h = mesh.halfedge(e), o = mesh.opposite(h);
    if (!CGAL::coplanar(mesh.point(mesh.source(h)), mesh.point(mesh.target(h)), mesh.point(mesh.target(mesh.next(h))),
                        mesh.point(mesh.target(mesh.next(o)))))
      continue;
    out.flat.push_back({numbers[mesh.face(h)], numbers[mesh.face(o)]});
  }
  return out;
}

/// Crossing features whose boxes are near the place.
std::vector<std::string> names_at(const Part& part, Vec3 p) {
  std::vector<std::string> ids, all;
  for (const Feature& f : part.features) {
    if (!crosses(f) || f.effect == Effect::none) continue;
    all.push_back(f.id);
    const Vec2 q = in_plane(f.along, p);
    const double w = along_axis(f.along, p);
    if ((f.from.kind == Bound::Kind::flat && w < f.from.z_mm - beside_mm) ||
        (f.to.kind == Bound::Kind::flat && w > f.to.z_mm + beside_mm))
      continue;
    for (const Loop& loop : f.profile) {
      const PlaneBox b = bounding_box(loop);
      if (q.x < b.low.x - beside_mm || q.x > b.high.x + beside_mm || q.y < b.low.y - beside_mm ||
          q.y > b.high.y + beside_mm)
        continue;
      ids.push_back(f.id);
      break;
    }
  }
  return ids.empty() ? all : ids;
}

std::string listed(const std::vector<std::string>& ids) {
  std::string text;
  for (const std::string& id : ids) text += (text.empty() ? "" : ", ") + id;
  return text;
}

[[noreturn]] void refuse(const Part& part, const Defect& defect, const Mesh& mesh) {
  const Vec3 place = defect.vertices.empty() ? Vec3{} : mesh.vertices[defect.vertices.front()];
  const std::vector<std::string> ids = names_at(part, place);
  if (defect.code == "pieces")
    throw CannotBuild("falls-apart", part.id + " falls into pieces where " + listed(ids) + " cut it",
                      "leave material between these features, or move them inward", ids);
  throw CannotBuild("features-nearly-touch",
                    part.id + ": " + listed(ids) + " meet other faces without a clear overlap or gap (" + defect.code +
                        ")",
                    "move them apart, or let them overlap, by at least 0.1 mm", ids);
}

}  // namespace

Mesh without_crossing(const Part& part, const Mesh& body, Lattice lattice) {
  const Box box = bounding_box(body);
  Exact solid, cutters, rest;
  append(solid, body);
  const Mesh along_x = cutters_along(part, Along::x, box, lattice), along_y = cutters_along(part, Along::y, box, lattice);
  if (!unite(along_x, along_y, cutters) || !pmp::corefine_and_compute_difference(solid, cutters, rest)) {
    const std::vector<std::string> ids = names_at(part, {1e9, 1e9, 1e9});
    throw CannotBuild("features-nearly-touch", part.id + ": " + listed(ids) + " leave no solid",
                      "move them apart, or let them overlap, by at least 0.1 mm", ids);
  }
  const double gate = std::min(part.chord_mm, least_height_mm);
  Mesh mesh = divided_anew(faced(rest, lattice), gate, lattice);
  if (const auto defect = find_defect(mesh, gate)) refuse(part, *defect, mesh);
  if (const auto pair = first_crossing(mesh)) refuse(part, {"crossing-facets", {mesh.triangles[pair->first][0]}, 0}, mesh);
  return mesh;
}

std::optional<Mesh> common_body(const Mesh& a, const Mesh& b) {
  Exact left, right, both;
  append(left, a);
  append(right, b);
  try {
    if (!pmp::corefine_and_compute_intersection(left, right, both, CGAL::parameters::throw_on_self_intersection(true)))
      return std::nullopt;
  } catch (const std::exception&) {
    return std::nullopt;
  }
  Mesh common;
  std::vector<std::uint32_t> ids(both.num_vertices() + both.number_of_removed_vertices());
  for (const auto v : both.vertices()) {
    ids[v] = static_cast<std::uint32_t>(common.vertices.size());
    Kernel::Point_3 p = both.point(v);
    CGAL::exact(p);  // else the double depends on how the number was reached
    common.vertices.push_back({CGAL::to_double(p.x()), CGAL::to_double(p.y()), CGAL::to_double(p.z())});
  }
  for (const auto f : both.faces()) {
    std::array<std::uint32_t, 3> t{};
    std::size_t k = 0;
    for (const auto v : both.vertices_around_face(both.halfedge(f))) t[k++] = ids[v];
    common.triangles.push_back(t);
  }
  return common;
}

}  // namespace bedwright
