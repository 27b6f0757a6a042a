// Whether a hex key reaches each screw of the plates: straight down onto the head along the screw's axis, the key's
// long arm first. What covers a screw later decides the order of the steps; what covers it always is a fault.
// Machine frame, millimetres. Extra joints of a kit have no place in it and are not looked at.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "checks/offered.h"
#include "kit/kit.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

struct DriverPath {
  std::string joint;  ///< id, as in the joints
  std::string placement;
  Vec2 at;
  double from_mm = 0;          ///< z of the head's top, where the socket opens
  double tool_mm = 0;          ///< length of the key's long arm (ISO 2936, from memory)
  bool fastens_frame = false;  ///< goes in with the frame in place
  bool under_frame = false;    ///< the frame's sheet, once on, is in the way
  bool under_bed = false;      ///< the bed, once on, is in the way
  std::string blocked;         ///< what is in the way whatever the order, a clause; empty if nothing
};

/// A plate as it lies at a placement.
struct LyingPlate {
  const Part* part = nullptr;
  const Placement* placement = nullptr;
  Offered pose;
  Face upper;  ///< of the part
};
std::vector<LyingPlate> lying_plates(const Layout& layout, const std::vector<const Part*>& parts);
/// Highest material of a plate within a disc (machine frame); nothing if it does not reach there.
std::optional<double> highest_in(const LyingPlate& plate, Vec2 centre, double radius);

/// One for each screw of an adapter plate at each of its placements, in placement order. The frame's own holes let a
/// key through where one passes inside them. Keep-outs stand still while the plates travel: they block only where no
/// position on the rails is free of them. Other plates and their keys are looked at as they lie.
std::vector<DriverPath> driver_paths(const Kit& kit, const Layout& layout, const std::vector<const Part*>& parts);

}  // namespace bedwright
