// The part seen along Z: the plane divided by all profiles into faces, each knowing which profiles cover it.
// Everything is on the lattice; curves are chains of straight edges shared by the faces on both sides.
#pragma once

#include <boost/container/small_vector.hpp>
#include <cstdint>
#include <vector>

#include "base/feature.h"
#include "base/lattice.h"

namespace bedwright {

/// A run of edges between two branching vertices, or a closed ring.
struct Chain {
  std::vector<Vec2> points;  ///< snapped; a closed chain does not repeat its first point
  bool closed = false;
  int left = 0, right = 0;     ///< faces seen when walking the points in order; 0 is the outside
  std::vector<int> profiles;   ///< indices of the profiles whose boundary this is
};

/// A connected set of chains. Faces are numbered from 1 here; 0 is what surrounds it.
struct Component {
  std::vector<Chain> chains;
  std::vector<std::vector<int>> covered;  ///< by face: profiles covering it, ascending; covered[0] is empty
};

/// One closed curve taking part in the division.
struct Profile {
  int feature = 0;  ///< index into the part's features
  Loop loop;
};

/// Nearly always one: a heap block a vertex would cost more than the rest of the plan.
using ProfilesAt = boost::container::small_vector<int, 2>;

struct Plan {
  std::vector<Vec2> vertices;
  struct Edge {
    std::vector<std::uint32_t> vertices;  ///< ids; closed edges do not repeat the first
    bool closed = false;
    int left = 0, right = 0;
    std::vector<int> profiles;
  };
  std::vector<Edge> edges;
  std::vector<std::vector<int>> covered;     ///< by face: profiles covering it (odd number of times), ascending
  std::vector<ProfilesAt> touching;          ///< by vertex: profiles through it
};

/// Divides the plane. Profiles that keep clear of each other go straight through; those that touch or cross go through
/// exact circular-arc arrangements. Throws CannotBuild naming features that nearly touch.
Plan divide(const std::vector<Profile>& profiles, const std::vector<Feature>& features, double chord_mm,
            Lattice lattice);

/// Whether p lies in the polygon, by how often a ray leaves it.
bool inside_polygon(const std::vector<Vec2>& polygon, Vec2 p);

/// Exact arrangement (CGAL) of profiles that touch or cross: the connected components it falls into.
std::vector<Component> arrange(const std::vector<Profile>& profiles, const std::vector<int>& members, double chord_mm,
                               Lattice lattice);

}  // namespace bedwright
