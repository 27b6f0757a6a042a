// The one language between the rooms. A part states features; solid builds them; gauge measures them;
// checks mate them; drawings dimension them; the report compares them.
// Frame: the part frame (design: as installed at its first placement, datum at the origin). Millimetres.
#pragma once

#include <string>
#include <vector>

#include "base/loop.h"
#include "base/vec.h"

namespace bedwright {

enum class FeatureKind {
  outline,         ///< the body's outer edge; dimensions length (x) and width (y)
  seat,            ///< a face that must mate with another part
  boss,            ///< material added round an insert
  clearance_hole,  ///< a screw passes
  counterbore,     ///< a screw head lies in it
  slot,            ///< a clearance hole drawn long
  counterbore_slot,
  insert_pocket,  ///< a heat-set insert is pressed in
  chamfer,
  mark,
  notch,
  key,  ///< material whose only use is to be in the way when the part is put on wrongly; axis: outward, in plan
};
const char* to_text(FeatureKind kind);  ///< "clearance_hole", ...

/// The axis that a feature is drawn along. Its profile lies in the plane of the other two, in their order: (x, y) for z,
/// (y, z) for x, (x, z) for y.
enum class Along { x, y, z };
Vec3 unit(Along along);
double along_axis(Along along, Vec3 p);  ///< coordinate along it
Vec2 in_plane(Along along, Vec3 p);      ///< the other two
Vec3 in_space(Along along, Vec2 plane, double on_axis);

/// Where a feature begins or ends along its axis; `seat` along Z only.
struct Bound {
  enum class Kind { flat, seat, open } kind = Kind::flat;
  double z_mm = 0;  ///< flat only: coordinate along the feature's axis
  static Bound at(double z) { return {Kind::flat, z}; }
  static Bound at_seat() { return {Kind::seat, 0}; }
  static Bound open() { return {Kind::open, 0}; }  ///< beyond the part on that side
};

enum class Effect { none, add, cut };

/// A number on the drawing. `modelled` is nominal plus the printer's compensation; measured never comes from here.
struct Dimension {
  std::string quantity;  ///< diameter, depth, length, width, height, floor (z of a counterbore's floor), thickness, x, y, radius, ...
  double nominal_mm = 0;
  double modelled_mm = 0;
  double tolerance_mm = 0.02;  ///< allowed |measured - modelled| of the written file
};

struct Feature {
  std::string id;
  FeatureKind kind = FeatureKind::outline;
  Effect effect = Effect::none;
  Along along = Along::z;     ///< features along X and Y only cut, and after all those along Z
  bool through = false;       ///< along X or Y, and notches: a tunnel, closed all round and open at both ends
  std::vector<Loop> profile;  ///< modelled size, part coordinates; more than one loop means even-odd (letters)
  Bound from, to;             ///< lower and upper end
  Vec3 at{};                  ///< datum: axis at the end where the feature opens
  Vec3 axis{0, 0, 1};         ///< unit; out of the material at the opening
  std::vector<Dimension> dimensions;
  /// Outline: 45 degree bevel round its lower edge (at `from`). Chamfer along Z: its width in plan, from the upright
  /// face that `at` and `axis` tell; a cut that rises at 45 degrees to whatever its column ends with.
  double chamfer_mm = 0;
  bool upper_chamfer = false;  ///< outline: the same bevel round its upper edge, which is flat
};

/// A feature and the box round its profile, in the profile's plane: tells most points apart. The feature outlives it.
struct FeatureReach {
  const Feature* feature = nullptr;
  PlaneBox box;
  bool near(Vec2 p) const { return box.low.x <= p.x && p.x <= box.high.x && box.low.y <= p.y && p.y <= box.high.y; }
};
FeatureReach reach_of(const Feature& feature);
/// Whether p lies in its profile, even-odd.
bool covers(const FeatureReach& reach, Vec2 p);

inline bool crosses(const Feature& feature) { return feature.along != Along::z; }

/// The dimension of that quantity, or nullptr.
const Dimension* find_dimension(const Feature& feature, const std::string& quantity);

}  // namespace bedwright
