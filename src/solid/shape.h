// A body as plane faces, straight edges and corners, and one such body less another. Private to the room.
//
// Where an edge of one body passes a face of the other is a corner of the result, and two faces meet in stretches
// between such corners; what is left of each face is walked round along both. In double numbers, of which each corner
// knows its bound; where one of them leaves a question open, because something touches, there is no result and a
// library must do it.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "base/lattice.h"
#include "base/mesh.h"
#include "solid/plane_faces.h"

namespace bedwright {

/// What is nearer than this touches, as far as can be told: less than a thousandth of a step of the lattice.
inline constexpr double touching_mm = 1e-8;
/// A corner that may be farther than this from its true place is not worked with.
inline constexpr double most_corner_error_mm = 1e-9;

struct Shape {
  struct Edge {  ///< half of one: its face is on its left, seen from outside
    std::uint32_t from = 0, to = 0;
    std::uint32_t face = 0;
    std::uint32_t next = 0, twin = 0;
  };
  struct Face {
    Vec3 on{};  ///< exact, as is the normal's direction but for its last bits
    Vec3 normal{};
    Box box{};
  };
  std::vector<Vec3> corners;
  std::vector<double> errors_mm;
  std::vector<Edge> edges;
  std::vector<Face> faces;
  Box box{};
};

/// Of a closed mesh whose corners lie on the lattice; facets that lie in one plane, exactly, are one face.
Shape shape_of(const Mesh& mesh, Lattice lattice);

/// Whether a face of one lies in the plane of a face of the other that it may meet, as far as a step of the lattice
/// tells.
bool flush(const Shape& a, const Shape& b, Lattice lattice);

/// The shape moved by a little.
Shape moved(Shape shape, Vec3 by);

/// Boxes of faces and of the whole, from its corners.
void set_boxes(Shape& shape);
/// Twins from what edges run between. False where an edge does not have just one.
bool pair_twins(Shape& shape);

/// The faces of `body` outside `cutter`, and those of `cutter` inside `body` turned over. No value where something
/// touches.
std::optional<Shape> cut(const Shape& body, const Shape& cutter);

/// Corners to the nearest step.
PlaneFaces faces_of(const Shape& shape, Lattice lattice);

}  // namespace bedwright
