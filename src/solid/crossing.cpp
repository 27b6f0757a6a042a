#include "solid/crossing.h"

#include <algorithm>
#include <optional>

#include "base/error.h"
#include "solid/build.h"
#include "solid/levels.h"
#include "solid/library_cut.h"
#include "solid/plane_faces.h"
#include "solid/shape.h"
#include "solid/topology.h"

namespace bedwright {
namespace {

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
      throw CannotBuild("crossing-adds", f.id + " adds material along X or Y", "features along X and Y only cut",
                        {f.id});
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
  throw CannotBuild(
      "features-nearly-touch",
      part.id + ": " + listed(ids) + " meet other faces without a clear overlap or gap (" + defect.code + ")",
      "move them apart, or let them overlap, by at least 0.1 mm", ids);
}

// Where a corner or an edge just touches, the cutters are moved by this: along each axis less than a tenth of a step of the lattice, so
// that what is rounded lies where it would, and what parts by it is one corner again at the gate. Along nothing that is
// built.
constexpr Vec3 aside_x_mm{0.9e-6, 1.3e-6, 0.7e-6}, aside_y_mm{1.3e-6, 0.7e-6, 1.4e-6};

/// What the cutter leaves of the shape. No value where a face of one lies in a face of the other, or where nobody can
/// tell.
std::optional<Shape> left_by(const Shape& shape, const Mesh& cutter, Vec3 aside, Lattice lattice) {
  if (cutter.triangles.empty()) return shape;
  const Shape whole = shape_of(cutter, lattice);
  if (std::optional<Shape> left = cut(shape, whole)) return left;
  if (flush(shape, whole, lattice)) return std::nullopt;
  return cut(shape, moved(whole, aside));
}

/// Throws CannotBuild where the faces are no solid's.
Mesh solid_of(const Part& part, PlaneFaces faces, Lattice lattice) {
  const double gate = std::min(part.chord_mm, least_height_mm);
  Divided divided = divided_anew(std::move(faces), gate, lattice);
  if (const auto defect = find_defect(divided.mesh, gate)) refuse(part, *defect, divided.mesh);
  if (const auto pair = first_crossing(divided))
    refuse(part, {"crossing-facets", {divided.mesh.triangles[pair->first][0]}, 0}, divided.mesh);
  return std::move(divided.mesh);
}

std::optional<Mesh> solid_by_shapes(const Part& part, const Mesh& body, const Mesh& along_x, const Mesh& along_y,
                                    Lattice lattice) {
  std::optional<Shape> left = left_by(shape_of(body, lattice), along_x, aside_x_mm, lattice);
  if (left) left = left_by(*left, along_y, aside_y_mm, lattice);
  if (!left) return std::nullopt;
  try {
    return solid_of(part, faces_of(*left, lattice), lattice);
  } catch (const CannotBuild&) {
    return std::nullopt;  // whether it can be built at all is the library's to say
  }
}

}  // namespace

Mesh without_crossing(const Part& part, const Mesh& body, Lattice lattice) {
  const Box box = bounding_box(body);
  const Mesh along_x = cutters_along(part, Along::x, box, lattice),
             along_y = cutters_along(part, Along::y, box, lattice);
  if (std::optional<Mesh> solid = solid_by_shapes(part, body, along_x, along_y, lattice)) return std::move(*solid);
  std::optional<PlaneFaces> faces = library_cut(body, along_x, along_y, lattice);
  if (!faces) {
    const std::vector<std::string> ids = names_at(part, {1e9, 1e9, 1e9});
    throw CannotBuild("features-nearly-touch", part.id + ": " + listed(ids) + " leave no solid",
                      "move them apart, or let them overlap, by at least 0.1 mm", ids);
  }
  return solid_of(part, std::move(*faces), lattice);
}

}  // namespace bedwright
