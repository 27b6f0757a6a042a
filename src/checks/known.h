// Everything a check may look at. Plain views: the caller owns what they point to.
#pragma once

#include <string>
#include <vector>

#include "checks/hole_float.h"
#include "checks/interference.h"
#include "checks/seat_gap.h"
#include "checks/wrong_ways.h"
#include "gauge/compare.h"
#include "gauge/gauge.h"
#include "joints/joints.h"
#include "kit/kit.h"
#include "layout/layout.h"
#include "parts/part.h"

namespace bedwright {

/// A part as derived, and as its written file measures.
struct KnownPart {
  const Part* part = nullptr;
  const Measurement* measured = nullptr;  ///< of the file, print frame
  const Comparison* comparison = nullptr;
  Transform print_to_part;
  double overhang_mm2 = 0;
};

struct Known {
  const Kit& kit;
  const Layout& layout;
  std::vector<KnownPart> parts;
  std::vector<JointSolution> joints;
  std::vector<WrongWay> wrong_ways;  ///< worst first
  std::vector<SeatGap> seat_gaps{};
  std::vector<HoleFloat> floats{};
  std::vector<Interference> interferences{};
  std::vector<WrongWay> old_ways{};  ///< parts of another revision in this one's places, likewise
};

}  // namespace bedwright
