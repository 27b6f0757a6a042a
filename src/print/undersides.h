// What a printer must lay over nothing: faces that look down, as a part lies on the print bed.
// Print frame (z = 0 is the bed), millimetres.
#pragma once

#include <cstdint>
#include <vector>

#include "base/mesh.h"
#include "kit/print_wishes.h"

namespace bedwright {

/// One connected face that looks down flatter than the printer bears.
struct Underside {
  Vec3 low, high;           ///< its box
  double area_mm2 = 0;      ///< of all of it
  double overhang_mm2 = 0;  ///< of what does not bridge
  double bridge_mm = 0;     ///< longest span of what does
};

struct Undersides {
  std::vector<Underside> faces;  ///< largest overhang first
  double overhang_mm2 = 0;
  double bridge_mm2 = 0, bridge_mm = 0;
  double support_mm3 = 0;       ///< of columns under what does not bridge, down to the part or the bed; 1 mm columns
  double contact_mm2 = 0;       ///< lying on the bed
  double contact_width_mm = 0;  ///< narrow side of the contact's box
  Vec2 facing;                  ///< where in plan the overhanging faces look to and are open, by area
};

/// An edge of a facet. Those of one pair of vertices stand together; the same in whatever pose.
struct FacetEdge {
  std::uint32_t low = 0, high = 0;  ///< vertices, the lesser first
  std::uint32_t facet = 0, opposite = 0;
};
std::vector<FacetEdge> facet_edges(const Mesh& mesh);

/// A span bridges where straight strands reach from wall to wall in some one direction (of twelve, 15 degrees apart)
/// over at most wishes.bridge_mm, over half of the face at least; strands are laid 0.5 mm apart, or 64 over a large
/// face.
Undersides undersides_of(const Mesh& mesh, const PrintWishes& wishes);
/// The same with the mesh's edges at hand.
Undersides undersides_of(const Mesh& mesh, const std::vector<FacetEdge>& edges, const PrintWishes& wishes);

}  // namespace bedwright
