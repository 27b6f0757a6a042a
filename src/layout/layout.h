// Where everything sits: carriages, frame holes, adapter plates' footprints, and the one height H.
// Machine frame: X right, Y rear, Z up, z = 0 the carriages' tops, origin at the centre of the four.
#pragma once

#include <array>
#include <map>
#include <string>
#include <vector>

#include "base/loop.h"
#include "kit/kit.h"
#include "layout/pairing.h"
#include "layout/rail_holes.h"
#include "survey/surface.h"

namespace bedwright {

struct Placement {
  std::string id;
  Vec2 at;                       ///< centre of the carriage's top
  std::vector<FrameHole> holes;  ///< frame holes given to this carriage, machine frame, in file order
};

/// Footprint of one adapter plate at one placement, plate frame (machine axes, origin at the carriage centre).
struct PlateFootprint {
  std::string part;  ///< id of the PartRequest
  std::string placement;
  Loop outline;             ///< modelled without compensation
  std::vector<Loop> seats;  ///< where the sheet bears: the outline, or the pads / boss tops
  double thickness_mm = 0;
};

struct Rocking {
  double after_um = 0, after_across_um = 0;
  std::optional<double> before_um;
};

struct Layout {
  std::array<Placement, 4> placements;
  double height_mm = 0;  ///< H: z of the sheet's underside at the apex; of a measured one at X = Y = 0
  Surface underside;     ///< machine frame, at that height
  std::vector<PlateFootprint> plates;
  double carriage_spacing_mm = 0;
  double travel_available_mm = 0, travel_needed_mm = 0;
  double travel_front_mm = 0, travel_rear_mm = 0;  ///< where the bed's centre can go, Y
  Rocking rocking;
  int rail_holes = 0;
  double rail_first_hole_mm = 0;
  std::vector<RailHoles> other_rail_holes;  ///< how the rails may have been cut instead: the length does not tell
  std::optional<CarriagePairing> pairing;   ///< where carriages were measured one by one
  /// Thickness of spacers that follows from the bed height wanted, by the part's id; others keep their own.
  std::map<std::string, double> set_thickness_mm;
  std::vector<std::string> assumptions;
};

/// Settles the layout. Throws BadInput (pointers into the kit) for frame holes that are ambiguous between
/// carriages or out of reach, and for a plate whose frame has no hole; the kit's other relations were checked
/// by the reader.
Layout settle(const Kit& kit);

/// How far the plate reaches beyond the measured points' hull; 0 inside. settle() refuses more than shape.beyond_mm.
double beyond_points_mm(const MeasuredShape& shape, const PlateFootprint& plate, const Placement& placement);

/// Largest and least sag over the loops' insides, exact on straight edges and arcs to 1e-9 mm; of a measured surface,
/// which may have its extremes anywhere, to measured_sag_tolerance_mm.
struct SagRange {
  double least = 0, greatest = 0;
};
SagRange sag_over(const Surface& surface, const std::vector<Loop>& loops);

}  // namespace bedwright
