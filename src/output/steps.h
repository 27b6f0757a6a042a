// The order of assembly, and the cautions that apply.
#pragma once

#include <vector>

#include "checks/driver_access.h"
#include "output/report.h"

namespace bedwright {

/// What every list of cautions and every printed report ends with.
inline constexpr const char* last_word = "Local codes and licensed people decide.";

/// Screws come before what covers them for good: `paths` tells what does. With `answers` the reference rail, the fixed
/// mount and the numbers for the first homing are in the steps.
std::vector<Step> assembly_steps(const std::vector<PartReport>& parts, const std::vector<JointSolution>& joints,
                                 const std::vector<DriverPath>& paths = {}, const MachineAnswers* answers = nullptr);
/// Run-in and service: what to do when, in order.
std::vector<ServiceLine> service_card(const Kit& kit, const MachineAnswers& answers);
/// Mains, earth, screw reach (each joint whose tip has something ahead), hot bed, pinch, fine particles, unattended
/// running, carriage balls; the last is `last_word`.
std::vector<Caution> cautions_for(const Kit& kit, const std::vector<PartReport>& parts,
                                  const std::vector<JointSolution>& joints);

}  // namespace bedwright
