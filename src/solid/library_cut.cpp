#include "solid/library_cut.h"

#include <CGAL/Exact_predicates_exact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/corefinement.h>
#include <CGAL/Surface_mesh.h>

#include <exception>

#include "solid/meet.h"

namespace bedwright {
namespace {

namespace pmp = CGAL::Polygon_mesh_processing;
using Kernel = CGAL::Exact_predicates_exact_constructions_kernel;
using Exact = CGAL::Surface_mesh<Kernel::Point_3>;

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

/// Vertices and facets in the order of their numbers, rounded once.
Mesh as_mesh(const Exact& exact) {
  Mesh mesh;
  std::vector<std::uint32_t> ids(exact.num_vertices() + exact.number_of_removed_vertices());
  for (const auto v : exact.vertices()) {
    const Kernel::Point_3& p = exact.point(v);
    CGAL::exact(p);  // else the double depends on how the number was reached
    ids[v] = static_cast<std::uint32_t>(mesh.vertices.size());
    mesh.vertices.push_back({CGAL::to_double(p.x()), CGAL::to_double(p.y()), CGAL::to_double(p.z())});
  }
  for (const auto f : exact.faces()) {
    std::array<std::uint32_t, 3> t{};
    std::size_t k = 0;
    for (const auto v : exact.vertices_around_face(exact.halfedge(f))) t[k++] = ids[v];
    mesh.triangles.push_back(t);
  }
  return mesh;
}

/// Which facets lie in one plane, exactly; corners on the lattice.
FacedMesh faced(const Exact& mesh, Lattice lattice) {
  FacedMesh out{as_mesh(mesh), {}};
  for (Vec3& v : out.mesh.vertices) v = snap(v, lattice);
  std::vector<std::uint32_t> numbers(mesh.num_faces() + mesh.number_of_removed_faces());
  std::uint32_t number = 0;
  for (const auto f : mesh.faces()) numbers[f] = number++;
  for (const auto e : mesh.edges()) {
    const auto h = mesh.halfedge(e), o = mesh.opposite(h);
    if (!CGAL::coplanar(mesh.point(mesh.source(h)), mesh.point(mesh.target(h)), mesh.point(mesh.target(mesh.next(h))),
                        mesh.point(mesh.target(mesh.next(o)))))
      continue;
    out.flat.push_back({numbers[mesh.face(h)], numbers[mesh.face(o)]});
  }
  return out;
}

}  // namespace

std::optional<PlaneFaces> library_cut(const Mesh& body, const Mesh& cutter, const Mesh& other_cutter, Lattice lattice) {
  Exact solid, cutters, rest;
  append(solid, body);
  if (!unite(cutter, other_cutter, cutters) || !pmp::corefine_and_compute_difference(solid, cutters, rest))
    return std::nullopt;
  return faces_of(faced(rest, lattice));
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
  return as_mesh(both);
}

}  // namespace bedwright
