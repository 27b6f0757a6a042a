// Edges on the print bed get a 45 degree chamfer, so that first-layer flare stays within the part's outline. Outlines
// that lie on the bed have theirs from the solid room (Feature::chamfer_mm); these are for the rest: plates that stand
// on an edge, and outlines that are not convex.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "parts/part.h"

namespace bedwright {

/// Of edges along X or Y that lie on the bed. Common practice, no source.
inline constexpr double bed_chamfer_mm = 0.4;
/// What a plate's edge is eased by: the first that its solid can be built with. Wider than the bevel on its other side.
inline constexpr std::array<double, 4> edge_chamfers_mm = {0.6, 0.66, 0.54, 0.72};

/// A straight edge along X or Y between two faces that stand square to it, and which way each of them looks.
struct BedEdge {
  Along along = Along::x;   ///< x or y
  double from = 0, to = 0;  ///< along it: where the cut begins and ends
  Vec3 at;                  ///< any point of it
  Vec3 out_a, out_b;        ///< unit, out of the material, along the other two axes
};

/// The chamfer of one edge along X or Y, as a cut with its measured depth.
Feature bed_chamfer(const std::string& id, const BedEdge& edge);

/// The part with the upper edge eased by width_mm where it stands on a straight side of its outline (its lower edge has
/// the outline's bevel); `up`: unit, in the part's plan, what is up while it prints. The seat ends where the chamfer
/// begins. A part that does not stand so, or whose outline has no bevel, comes back as it was.
Part with_eased_edge(const Part& part, Vec2 up, double width_mm);

/// The part for printing upside down: its upper edge has the lower edge's bevel too, and its seat ends where that
/// begins. A part whose outline has no bevel, no flat top or not its highest top, comes back as it was.
Part with_eased_top(const Part& part);

/// Whether the part has a bed_chamfer of that id.
bool is_bed_edge(const Part& part, const std::string& id);

/// The part without the features of those ids.
Part without_features(Part part, const std::vector<std::string>& ids);

}  // namespace bedwright
