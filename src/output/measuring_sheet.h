// A sheet to carry to the machine: what to measure, where, with a box for each number of the interview.
#pragma once

#include <string>

namespace bedwright {

/// One A4 page as SVG; user units are millimetres, so that the check bars print as long as they say.
std::string measuring_sheet_svg();

}  // namespace bedwright
