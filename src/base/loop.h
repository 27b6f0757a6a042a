// Closed plane curves of straight lines and circular arcs: the profiles that features are drawn with.
#pragma once

#include <vector>

#include "base/vec.h"

namespace bedwright {

/// Which side of a true arc its facets may stray to: a hole keeps them outside the circle (a pin of
/// nominal size passes), a boss or an outline keeps them inside. Either way by at most chord_mm.
enum class Facets { inside, outside };

struct Curve {
  Vec2 start, end;
  bool arc = false;
  Vec2 centre{};      ///< arcs only
  double radius = 0;  ///< arcs only, > 0
  bool ccw = true;    ///< arcs only: turning sense from start to end
};

/// Angle of an arc's start about its centre, and the angle it sweeps (positive counter-clockwise), radians.
struct ArcSpan {
  double from = 0, sweep = 0;
};
ArcSpan span_of(const Curve& arc);

/// Counter-clockwise. A whole circle has no curves, only centre and radius.
struct Loop {
  bool circle = false;
  Vec2 centre{};
  double radius = 0;
  std::vector<Curve> curves;
  Facets facets = Facets::inside;
};

Loop circle_loop(Vec2 centre, double radius, Facets facets);
/// A slot of overall length 2 * radius + extra along the unit direction `along` (extra >= 0; 0 gives a circle).
Loop slot_loop(Vec2 centre, double radius, double extra, Vec2 along, Facets facets);
/// A circle with a roof of two tangents at 45 degrees that meet in a point, radius * sqrt(2) from the centre along the
/// unit direction `point`: a horizontal hole that prints without support when the point is up.
Loop teardrop_loop(Vec2 centre, double radius, Vec2 point, Facets facets);
/// A slot with such a roof over all of it, `point` along its length or across it: the point lies
/// radius * sqrt(2) + extra / 2 from the centre. Across, the roof is tangent to both round ends; along, it stands on the
/// straight walls and touches the circle of the end that it replaces.
Loop pointed_slot_loop(Vec2 centre, double radius, double extra, Vec2 along, Vec2 point, Facets facets);
/// Straight-sided polygon; turned to counter-clockwise if given clockwise. At least three points.
Loop polygon_loop(const std::vector<Vec2>& points);
/// Rectangle with rounded corners; corner_radius 0 gives sharp ones, and it is capped at half the shorter side.
Loop rectangle_loop(Vec2 centre, Vec2 size, double corner_radius);
/// Outer boundary of the convex hull of circles (radius >= 0): tangent lines and arcs, counter-clockwise.
Loop hull_of_circles(const std::vector<Vec2>& centres, const std::vector<double>& radii);

/// The loop with every point outside it moved away by up to `by` > 0: convex corners become arcs of that radius, hollow
/// ones stay sharp, and where a hollow is too narrow for it the loop passes its mouth. Within 1e-6 mm. Throws Error where
/// no closed loop comes of it.
Loop grown(const Loop& loop, double by);

/// Turned by `t` (about Z, or a mirror in the plane; z is ignored) and turned back to counter-clockwise.
Loop transformed(const Loop& loop, const Transform& t);

/// Facet count of a whole circle so that facets stay within chord_mm of it on the loop's side; even, at least 8,
/// so that the polygon is its own mirror image in x and in y.
int facets_of_circle(double radius, double chord_mm);
/// Vertices of the loop, unsnapped, counter-clockwise. Facets stay within chord_mm of the true curve, on the
/// side that loop.facets says; end points of arcs lie on the arc.
std::vector<Vec2> polygonised(const Loop& loop, double chord_mm);

struct PlaneBox {
  Vec2 low, high;
};
/// Box of the true curves.
PlaneBox bounding_box(const Loop& loop);
/// Area enclosed by the true curves.
double area(const Loop& loop);
/// Whether p is strictly inside the true curves (points on the curve: unspecified).
bool contains(const Loop& loop, Vec2 p);
/// Least distance from p to the true curves.
double distance(const Loop& loop, Vec2 p);
/// Signed area of a polygon, positive when counter-clockwise.
double polygon_area(const std::vector<Vec2>& points);

}  // namespace bedwright
