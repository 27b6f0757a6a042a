// What the arithmetic says about the machine, as data and as text.
#pragma once

#include <string>

#include "mechanics/machine_answers.h"

namespace bedwright {

/// "heights", "constraints", "rails", "rocking_points", "diagnosis", "moving_mass", "figures".
Json machine_json(const MachineAnswers& answers);
/// The same for a person, each block under its heading; lines of at most 100 characters.
std::string machine_text(const MachineAnswers& answers);

}  // namespace bedwright
