// Measures a mesh as a metrologist would, knowing nothing of how it was made.
// Frame: the file's. Millimetres. All sizes are of the facets as they are: a hole's diameter is that of the largest
// pin that passes, a boss's that of the smallest ring that goes over it.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/mesh.h"

namespace bedwright {

struct MeshHealth {
  bool closed = false;         ///< every edge has exactly two facets, in opposite order
  bool watertight = false;     ///< every edge has exactly two facets, whichever way they run
  bool oriented = false;       ///< closed, each shell outward (inward where it bounds a cavity)
  int self_intersections = 0;  ///< pairs of facets that meet in more than their common vertices or edge
  bool all_asked = true;       ///< false: so many lie in each other's boxes that the search for these was given up
  int degenerate = 0;          ///< facets of zero area or with repeated vertices
  int pieces = 0;              ///< edge-connected shells
  int open_edges = 0;          ///< edges with one facet, or with facets of the same direction, or with more than two
  int flipped = 0;             ///< facets turned against the majority of their shell
  int wrong_shells = 0;        ///< whole shells that face the wrong way
  int euler = 0;               ///< V - E + F after welding
  double least_height_mm = 0;  ///< least triangle height
};

struct MeasuredFeature {
  /// Round walls all the way round: hole, boss; counterbore: a hole whose floor holds a narrower hole or slot.
  /// Long ones: slot, counterbore_slot, slot_boss. Round walls part of the way: edge_round (rounded outlines, holes cut
  /// open). cone: a countersunk or bevelled rim of a hole or boss. chamfer: a bevel along an outline. Faces: plane,
  /// sphere_seat, cylinder_seat, curved_seat (smooth, none of these).
  std::string kind;
  Vec3 at{};  ///< holes, bosses, slots: axis point at the open (bosses: free) end; cones: axis point at the wide
              ///< end; planes, chamfers and curved seats: centroid; sphere_seat: apex, the point of the fitted sphere
              ///< straight above its centre along `axis`; cylinder_seat: the point of the face's top line nearest
              ///< the centroid
  Vec3 axis{
      0, 0,
      1};  ///< holes: out of the opening (through holes: the upward one); bosses: out of the material; planes: outward
           ///< normal; seats: the file axis nearest the outward normal, except cylinder_seat: the cylinder's axis
  Vec3 along{1, 0, 0};     ///< slots: direction of the length
  double diameter_mm = 0;  ///< holes, bosses, slots (width); edge_round: twice the radius; cones: at the wide end
  double length_mm = 0;    ///< slots: overall length
  double depth_mm =
      0;  ///< along the axis, from the mean of one end to the mean of the other: holes' depth, bosses' height
  double low_mm = 0, high_mm = 0;  ///< those two ends: upward axis . point
  bool through = false;            ///< open at both ends
  double point_mm = 0;             ///< holes with a roof of two faces: how far from the axis these meet; 0: none
  Vec3 point{};                    ///< which way from the axis
  bool concave = false;            ///< the material lies outside the round wall
  double angle_deg = 0;            ///< round walls: how much of the turn there is; cones, chamfers: face against axis
  double radius_mm = 0;            ///< seats: fitted radius; > 0 when the centre lies on the material's side (crown)
  Vec3 centre{};                   ///< seats: centre of the fitted sphere, or a point of the cylinder's axis
  double area_mm2 = 0;
  double residual_mm = 0;             ///< largest distance of a vertex from the fitted face
  std::vector<std::uint32_t> facets;  ///< which facets of Measurement::mesh, ascending
};

struct Measurement {
  Mesh mesh;  ///< welded, and turned outward wherever the file was not (health is of the file as it is)
  MeshHealth health;
  double volume_mm3 = 0;  ///< of the file as it is: negative when inside out
  double area_mm2 = 0;
  Box box{};
  std::vector<MeasuredFeature> features;  ///< in a fixed order: kind, then z, y, x
};

/// Welds equal vertices (exactly equal after float32), checks, segments, fits.
Measurement measure(const Mesh& soup);
/// Health only (quicker).
MeshHealth inspect(const Mesh& soup);

}  // namespace bedwright
