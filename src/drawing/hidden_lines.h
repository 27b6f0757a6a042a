// What is seen of a solid from one direction: its sharp edges and the outlines of its rounds, each visible or hidden.
// Exact but for rounding: every edge is cut where an outline crosses it on the paper, and each piece is held against
// the facets in front of it. No raster.
#pragma once

#include <array>
#include <vector>

#include "base/mesh.h"

namespace bedwright {

/// Of the viewer, unit and square to each other; `toward` points to the viewer and is right x up.
struct ViewAxes {
  Vec3 right, up, toward;
};
inline Vec3 in_view(const ViewAxes& v, Vec3 p) {
  return {dot(v.right, p), dot(v.up, p), dot(v.toward, p)};
}
// All as installed: the viewer stands in front of the part, at its left, at its right, or looks down on it.
inline constexpr ViewAxes from_front{{1, 0, 0}, {0, 0, 1}, {0, -1, 0}};
inline constexpr ViewAxes from_left{{0, -1, 0}, {0, 0, 1}, {-1, 0, 0}};
inline constexpr ViewAxes from_right{{0, 1, 0}, {0, 0, 1}, {1, 0, 0}};
inline constexpr ViewAxes from_above{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};

/// Facets that meet at more than this are two faces with an edge between them; less is one round face. A hole's facets
/// at the usual chord of 0.01 mm meet at less than 20 degrees, a bevel at 45.
inline constexpr double sharp_above_cos = 0.8660254037844386;  // 30 degrees

/// A run of edge in the view's plane, millimetres.
struct ViewLine {
  std::vector<Vec2> points;
  bool visible = true;
  bool closed = false;
};

/// Lettering cut into a face, by boxes in model coordinates.
struct Lettering {
  std::vector<Box> boxes;
  bool drawn = true;  ///< where it is seen; hidden it never is, for it would hide the rest
};

/// Lines that lie on each other are one, the visible one.
std::vector<ViewLine> view_lines(const Mesh& solid, const ViewAxes& axes, const Lettering& lettering = {});

/// The edges between faces, model coordinates, in the order of their vertices.
std::vector<std::array<Vec3, 2>> sharp_edges(const Mesh& solid);

/// One straight piece of a stepped plane of section, square to Y: cut at y between two x.
struct CutStep {
  double from_x = 0, to_x = 0, y = 0;
};

struct SectionView {
  std::vector<std::array<Vec2, 2>> cut;    ///< edges of the cut faces, (x, z)
  std::vector<std::array<Vec2, 2>> hatch;  ///< hatching, (x, z)
  std::vector<ViewLine> beyond;            ///< visible edges behind the cut
};
/// Seen from in front. Steps follow each other from left to right without a gap and cover the solid. `spacing_mm`: of
/// the hatching, in model lengths. Lettering beyond the cut is left out.
SectionView section_view(const Mesh& solid, const std::vector<CutStep>& steps, double spacing_mm,
                         const Lettering& lettering = {});

}  // namespace bedwright
