// A part as a person offers it up: which of its faces is up, sampled, and where the sheet first touches it.
// Pose frame: machine axes, origin at the carriage's centre, z = 0 the carriage's top. Millimetres.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

struct FacePoint {
  Vec2 at;            ///< part frame
  double z_mm = 0;    ///< part frame
  bool seat = false;  ///< within the loops that must mate with the sheet
};

/// Height of the part's face at p, part frame: the upper face as drawn (up), or the lower one. Nothing outside the
/// part, over its lower edge's chamfer (lower face), or where a hole, pocket or counterbore opens. Marks count as
/// material: they are narrow, and no extreme of the gap lies in one that it does not reach beside it.
std::optional<double> face_at(const Part& part, bool up, Vec2 p);

/// The same for many points: knows which features a point is far from. The part outlives it.
class Face {
 public:
  Face(const Part& part, bool up);
  std::optional<double> at(Vec2 p) const;

 private:
  const Part& part_;
  bool up_;
  std::vector<FeatureReach> bodies_, openings_;
};

/// Points over the whole face: along every edge and on a grid, so close that a surface of the given curvature
/// (1/mm, part's and sheet's together) is caught at its greatest to 5e-4 mm.
std::vector<FacePoint> face_points(const Part& part, bool up, double curvature);

/// Points along a loop's true curve with the unit normal that points out of it; at most `step_mm` apart and 2e-3 mm
/// of sagitta between two.
struct EdgePoint {
  Vec2 at, outward;
};
std::vector<EdgePoint> edge_points(const Loop& loop, double step_mm);

struct HoleSpot {
  const Feature* feature = nullptr;
  std::string id;
  Vec2 at;                 ///< part frame
  double diameter_mm = 0;  ///< nominal; of a slot its width
  double extra_mm = 0;     ///< nominal, beyond the width
  Vec2 along{1, 0};        ///< a slot's long direction
};
/// Holes that the part is screwed down by (adapter plate: to the carriage; spacer: all), and those with an insert.
std::vector<HoleSpot> mounting_holes(const Part& part);
std::vector<HoleSpot> insert_holes(const Part& part);

/// z at which a screw head bears that comes from the given side, part frame: a counterbore's floor or the face.
double bearing_mm(const Part& part, bool up, Vec2 hole);

/// The part in the pose: turned over left to right first if flipped, then turned about Z, then lifted by `lift_mm`.
struct Offered {
  const Part* part = nullptr;
  bool flipped = false;
  int quarter = 0;     ///< of the part frame about Z (after flipping)
  double lift_mm = 0;  ///< pose z of the part frame's z = 0
  double odd_deg = 0;  ///< a turn beyond the quarters, of hole patterns that admit one
};
Vec2 posed(const Offered& offered, Vec2 p);         ///< part to pose
Vec2 in_part(const Offered& offered, Vec2 p);       ///< pose to part
double posed_z(const Offered& offered, double z);   ///< part to pose
Transform plane_transform(const Offered& offered);  ///< x and y only; a mirror when flipped

/// The sheet, shifted down or up by `drop_mm` so that it just touches.
struct Contact {
  double drop_mm = 0;  ///< added to the sheet's own height at its right place
  double gap_mm = 0;   ///< largest over the seat
  Vec2 where;          ///< pose frame
};
/// A screw head stands on the plate: it may be what the sheet meets first.
struct Head {
  Vec2 at;  ///< pose frame
  double radius_mm = 0, top_mm = 0;
};
/// `sheet` is the underside in the pose frame.
/// How far a face is from level where it comes to rest: the samples' plane that holds the part up when it is pressed
/// down at the middle (of all planes that no sample passes, the one that lets the middle come lowest). `below` is by
/// how much each sample stands lower than the part's own level; pose frame. Tangent of the angle, along x and y, to
/// 1e-6.
Vec2 resting_tilt(const std::vector<Vec2>& at, const std::vector<double>& below);

Contact first_contact(const Offered& offered, const std::vector<FacePoint>& face, const std::vector<Head>& heads,
                      const Surface& sheet);

}  // namespace bedwright
