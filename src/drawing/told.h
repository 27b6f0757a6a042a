// What a drawing says of a part's features, in words and numbers: holes that share an axis, alike ones together, and
// the levels along Z. Part frame, millimetres, nominal.
#pragma once

#include <string>
#include <vector>

#include "parts/part.h"

namespace bedwright {

/// One axis with all that is cut or built round it.
struct HolePlace {
  Vec2 at;         ///< in the plane across the axis (base/feature.h)
  Loop rim;        ///< of its smallest hole
  Vec2 half;       ///< half the size of all that shares the axis, in that plane
  std::string id;  ///< of its first feature
};

struct HoleGroup {
  Along along = Along::z;
  std::vector<std::string> lines;  ///< "4 × slot 3.40 × 4.40 THRU", "counterbore 6.50 × 7.50 to Z 3.15"
  std::vector<HolePlace> places;
  int told = 0;  ///< how much a cut through it shows: pockets before counterbores before plain holes
};

/// Groups in the order of their first feature.
std::vector<HoleGroup> hole_groups(const Part& part);

/// A height that the drawing gives, rising, no two nearer than 0.005 mm.
std::vector<double> levels_of(const Part& part);

/// The outline's nominal size: what its dimensions say, else its box.
struct OutlineSize {
  Vec2 low, high;        ///< box of the nominal outline; its middle is the modelled one's
  bool round = false;    ///< one circle
  double thickness = 0;  ///< 0: none stated
  std::vector<std::pair<double, std::vector<Vec2>>> corners;  ///< nominal radius of convex arcs, their middles
};
OutlineSize outline_size(const Part& part);

/// "seat: SR2600, apex at X 75.00, Y 45.00; 6.00 least"; empty where no seat is stated.
std::vector<std::string> seat_lines(const Part& part);

/// "Chamfers 45°: 0.40 round the lower edge, 0.60 along the rear upper edge."; empty where there are none.
std::string chamfers_of(const Part& part);

/// Two places: "3.40".
std::string fixed_2(double mm);

}  // namespace bedwright
