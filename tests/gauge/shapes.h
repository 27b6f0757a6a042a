// Meshes for the gauge's tests, made from closed forms and independently of src/solid: polygons are cut into ears,
// Steiner points are put in and edges flipped until Delaunay; plates are caps, walls and floors.
#pragma once

#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "base/mesh.h"

namespace shapes {

using bedwright::Mesh;
using bedwright::Vec2;
using bedwright::Vec3;
using Polygon = std::vector<Vec2>;  ///< counter-clockwise

/// To the lattice of 2^-16 mm, as built parts are.
double snapped(double v);

/// Regular polygon; `outside`: its facets touch the circle from outside (holes), else its corners lie on it.
Polygon circle(Vec2 centre, double diameter, int facets, bool outside, double start_rad = 0);
/// Slot of overall length, tangent facets outside the true arcs; `facets` in a whole turn, even.
Polygon slot(Vec2 centre, double width, double length, Vec2 along, int facets);
Polygon rectangle(Vec2 centre, Vec2 size);
/// Corners on the arcs.
Polygon rounded_rectangle(Vec2 centre, Vec2 size, double radius, int facets_a_corner);
double polygon_area(const Polygon& p);

using Height = std::function<double(double, double)>;
Height flat(double z);
/// Crown up (sign +1) or down (-1), apex at the height.
Height sphere(double radius, Vec2 apex, double height, int sign);
/// Straight along y.
Height cylinder(double radius, double apex_x, double height, int sign);
/// sag = Rx - sqrt((Rx - Ry + sqrt(Ry^2 - y^2))^2 - x^2).
Height two_radius(double radius_x, double radius_y, Vec2 apex, double height, int sign);
Height tilted(double slope_x, double slope_y, double z);

/// One column feature of a plate between z = 0 and its top.
struct Column {
  enum class Kind { hole, counterbore_top, blind_top, blind_bottom, boss_bottom, boss_top } kind = Kind::hole;
  Polygon outer;           ///< hole, counterbore, pocket or boss
  Polygon inner;           ///< counterbore: the hole below; boss: the pocket in it (may be empty)
  double level = 0;        ///< z of a floor, or of a boss' free end
  double inner_level = 0;  ///< boss: z of the pocket's floor
};

struct Plate {
  Polygon outline;
  Height top = flat(5);
  double grid_mm = 0;  ///< spacing of Steiner points in the top; 0 for none
  std::vector<Column> columns;
};
Mesh build(const Plate& plate);

/// Ring of facets about Z through (radius, z) corners, counter-clockwise in the (radius, z) half plane.
Mesh turned_profile(const std::vector<Vec2>& radius_z, int facets);
Mesh box(Vec3 low, Vec3 high);
Mesh joined(const Mesh& a, const Mesh& b);
Mesh inside_out(Mesh m);
/// Without shared vertices, as a file holds it.
Mesh soup(const Mesh& m);

std::string ascii_stl(const Mesh& m);
std::string binary_stl(const Mesh& m, const std::string& header = "test");

}  // namespace shapes
