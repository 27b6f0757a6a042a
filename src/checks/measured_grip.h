// How much of a printed part a screw clamps, measured in the written file at that very hole, the dome included.
#pragma once

#include "checks/known.h"

namespace bedwright {

/// The joint of a part (part_joints.h) with its printed layer as the file has it; unchanged where the file cannot be
/// measured there. Carriage screws: from the face under the head down to the carriage. Frame screws: from the seat to
/// the near end of an insert pressed in flush. The layer's spread over the head's ring adds to its plus or minus.
Joint with_measured_grip(const Kit& kit, const KnownPart& part, Joint joint);

}  // namespace bedwright
