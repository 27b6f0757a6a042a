// A mesh as planar patches and the edges between them. Private to the gauge.
#pragma once

#include <cstdint>
#include <vector>

#include "gauge/facing.h"
#include "gauge/topology.h"

namespace bedwright {

inline constexpr std::uint32_t no_patch = 0xffffffffu;

struct Patch {
  Vec3 normal{};      ///< unit, out of the material
  double offset = 0;  ///< normal . p for points of the plane
  double area_mm2 = 0;
  Vec3 centroid{};
  std::uint32_t first_facet = 0, facets = 0;    ///< into Patches::facets
  std::uint32_t first_link = 0, links = 0;      ///< into Patches::links
  std::uint32_t first_border = 0, borders = 0;  ///< into Patches::borders
};

/// One neighbour of a patch.
struct Link {
  std::uint32_t to = no_patch;
  Vec3 along{};  ///< unit, as the first patch walks its border
  double length_mm = 0;
  double angle_rad = 0;  ///< between the normals
  bool convex = false;   ///< material edge (true) or inner corner
};

struct Patches {
  std::vector<Patch> patches;           ///< of the largest facets first, nearly
  std::vector<std::uint32_t> of_facet;  ///< no_patch for facets without area
  std::vector<std::uint32_t> facets;
  std::vector<Link> links;
  std::vector<std::uint32_t> borders;  ///< of each patch the half edges with none of its facets across, ascending
  double tolerance_mm = 0;             ///< how far a vertex may lie off its patch
};

/// How far a vertex of a mesh of that size may lie off a true face: a few steps of float32, or of a lattice of 2^-16
/// mm.
double face_tolerance_mm(const Box& box);

/// Facets must be turned outward already.
Patches patches_of(const Mesh& mesh, const Topology& topology, const std::vector<Facing>& facings);

}  // namespace bedwright
