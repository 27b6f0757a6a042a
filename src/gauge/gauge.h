// Measures a mesh as a metrologist would, knowing nothing of how it was made.
// Frame: the file's. Millimetres. All sizes are of the facets as they are: a hole's diameter is that of the largest
// pin that passes, a boss's that of the smallest ring that goes over it.
#pragma once

#include <string>
#include <vector>

#include "base/mesh.h"

namespace bedwright {

struct MeshHealth {
  bool closed = false;    ///< every edge has exactly two facets, in opposite order
  bool oriented = false;  ///< closed and enclosing positive volume, each shell outward
  int self_intersections = 0;
  int degenerate = 0;     ///< facets of zero area or with repeated vertices
  int pieces = 0;         ///< edge-connected shells
  int open_edges = 0;     ///< edges with one facet, or with facets of the same direction, or with more than two
  int flipped = 0;        ///< facets turned against the majority of their shell
  int euler = 0;          ///< V - E + F after welding
  double least_height_mm = 0;  ///< least triangle height
};

struct MeasuredFeature {
  /// hole (round, cut), boss (round, standing), slot, slot_boss, counterbore is a hole ending on a hole;
  /// plane, cylinder_seat, sphere_seat, curved_seat (smooth, none of these), cone.
  std::string kind;
  Vec3 at{};         ///< holes and bosses: axis point at the open end; planes: centroid; spheres: apex (point of the
                     ///< fitted sphere nearest the facets, along the file's Z); cylinders seats: centroid
  Vec3 axis{0, 0, 1};  ///< holes: out of the opening (through holes: +Z side); planes: outward normal; slots: as holes
  Vec3 along{1, 0, 0};  ///< slots: direction of the length
  double diameter_mm = 0;  ///< holes, bosses, slots (width)
  double length_mm = 0;    ///< slots: overall length
  double depth_mm = 0;     ///< holes: along the axis, cylinder wall from end to end; bosses: height
  bool through = false;
  double radius_mm = 0;    ///< seats: fitted radius; > 0 when the centre lies on the material's side (crown)
  Vec3 centre{};           ///< seats: centre of the fitted sphere, or a point of the cylinder's axis
  double area_mm2 = 0;
  double residual_mm = 0;  ///< largest distance of a vertex from the fitted face
  std::vector<std::uint32_t> facets;  ///< which facets, for pictures and tests
};

struct Measurement {
  Mesh mesh;  ///< welded
  MeshHealth health;
  double volume_mm3 = 0, area_mm2 = 0;
  Box box{};
  std::vector<MeasuredFeature> features;  ///< in a fixed order: kind, then z, y, x
};

/// Welds equal vertices (exactly equal after float32), checks, segments, fits.
Measurement measure(const Mesh& soup);
/// Health only (quicker).
MeshHealth inspect(const Mesh& soup);

}  // namespace bedwright
