// Everything that the arithmetic says about the converted machine, in one place for the report and for `layout`.
#pragma once

#include <vector>

#include "base/figure.h"
#include "base/finding.h"
#include "layout/constraint_plan.h"
#include "layout/heights.h"
#include "layout/rail_line.h"
#include "mechanics/moving_mass.h"
#include "mechanics/rail_beam.h"
#include "mechanics/rocking_map.h"

namespace bedwright {

struct MachineAnswers {
  HeightPlan heights;
  ConstraintPlan constraints;
  std::vector<RailLine> rails;        ///< left, right
  std::vector<RailBending> bending;   ///< likewise
  RockingMap rocking;
  Diagnosis diagnosis;
  MovingMass mass;                    ///< with the printed parts only where they were made
  bool parts_made = false;
  std::vector<Figure> figures;
};

/// `parts`: as made; empty before anything is.
MachineAnswers machine_answers(const Kit& kit, const Layout& layout, const std::vector<PrintedPart>& parts);

/// rail-sag, not-cured, moving-mass.
std::vector<Finding> machine_findings(const MachineAnswers& answers);

}  // namespace bedwright
